#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/cli/command.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

TEST(Batches, AreListedInNumbersInTheUnitPeopleUse) {
  const test::TemporaryFolder folder;
  schema::StoreWriter writer(folder.path());
  test::append_test(writer, "QH2648-0001-A");
  test::append_test(writer, "QH2648-0002-B");
  const auto ask = [&](const char* metric) {
    return test::endgate(
        {"trend", metric, "--model", "P1-60-12", "--batches", "--data", folder.path().string()});
  };
  const Ended listed = ask("fad_400");
  EXPECT_EQ(listed.status, 0) << listed.err;
  // Twice 9.1e-4 m3/s.
  EXPECT_THAT(listed.out, HasSubstr("batch   n  mean [L/min]  scatter  1 % below"));
  EXPECT_THAT(listed.out, HasSubstr("B-2648  2  54.6"));
  EXPECT_EQ(ask("fad_401").status, 2);
  const Ended later = test::endgate({"trend", "fad_400", "--model", "P1-60-12", "--batches",
                                     "--since", "2027-01-01", "--data", folder.path().string()});
  EXPECT_EQ(later.status, 0);
  EXPECT_THAT(later.out, testing::Not(HasSubstr("B-2648")));
}

}  // namespace
}  // namespace endgate
