#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "schema/store.h"
#include "schema/trend_file.h"
#include "tests/cli/command.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

class Copies : public testing::Test {
 protected:
  [[nodiscard]] std::string place(const char* name) const {
    return (folder_.path() / name).string();
  }
  test::TemporaryFolder folder_;
};

TEST_F(Copies, ABackupWhileTheStoreIsOwnedIsVerifiedAndRestoredUnderAnIdOfItsOwn) {
  std::filesystem::create_directory(place("store"));
  schema::StoreWriter writer(place("store"));
  test::append_test(writer, "QH2648-0001-A");

  const Ended backed = test::endgate({"backup", place("copy"), "--data", place("store")});
  EXPECT_EQ(backed.status, 0) << backed.err;
  EXPECT_THAT(backed.out, HasSubstr("opened and verified"));

  const Ended restored = test::endgate({"restore", place("copy"), "--data", place("again")});
  EXPECT_EQ(restored.status, 0) << restored.err;
  const schema::StoreReader before(place("store")), after(place("again"));
  EXPECT_NE(after.store_id(), before.store_id());
  EXPECT_THAT(restored.out, HasSubstr(after.store_id()));
  EXPECT_EQ(after.records_of("QH2648-0001-A").size(), 1u);
  EXPECT_EQ(test::endgate({"verify", "--data", place("again"), "--traces"}).status, 0);
}

TEST_F(Copies, NothingIsWrittenIntoAFolderThatHoldsFiles) {
  std::filesystem::create_directory(place("store"));
  schema::StoreWriter writer(place("store"));
  std::filesystem::create_directory(place("full"));
  std::ofstream(place("full") + "/mine") << "mine";
  const Ended refused = test::endgate({"backup", place("full"), "--data", place("store")});
  EXPECT_EQ(refused.status, 5);
  EXPECT_THAT(refused.err, HasSubstr(place("full")));
}

TEST_F(Copies, TheFileOfTrendsIsMadeAnewUnlessAServiceKeepsIt) {
  std::filesystem::create_directory(place("store"));
  {
    schema::StoreWriter writer(place("store"));
    test::append_test(writer, "QH2648-0001-A");
    const Ended refused = test::endgate({"rebuild", "--data", place("store")});
    EXPECT_EQ(refused.status, 6) << refused.err;
  }
  std::ofstream(place("store") + "/trend.db") << "spoilt";
  const Ended made = test::endgate({"rebuild", "--data", place("store")});
  EXPECT_EQ(made.status, 0) << made.err;
  EXPECT_THAT(made.err, HasSubstr(" facts"));
  const schema::StoreReader truth(place("store"));
  const auto derived = schema::TrendReader::open(truth);
  ASSERT_TRUE(derived);
  EXPECT_EQ(derived->position(), truth.last_position());
}

}  // namespace
}  // namespace endgate
