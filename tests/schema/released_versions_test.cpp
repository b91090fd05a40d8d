// Does a store that an earlier version wrote become one of this version, with every fact as sealed?
//
// fixtures/databases/version-N holds the files as version N left them.

#include <gtest/gtest.h>

#include "schema/verify.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;

class ReleasedVersion : public ::testing::TestWithParam<int> {
 protected:
  ReleasedVersion() {
    fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures" / "databases" /
                 ("version-" + std::to_string(GetParam())),
             folder.path(), fs::copy_options::recursive | fs::copy_options::overwrite_existing);
  }
  test::TemporaryFolder folder;
};

TEST_P(ReleasedVersion, IsRefusedByAReaderUntilAWriterBroughtItUpToDate) {
  EXPECT_EQ(test::fault_of([&] { StoreReader reader(folder); }), StoreFault::Kind::wrong_version);
  { StoreWriter writer(folder); }
  EXPECT_EQ(StoreReader(folder).last_attempt("QH2"), 2);
}

TEST_P(ReleasedVersion, KeepsEveryFactAsItWasSealed) {
  { StoreWriter writer(folder); }
  const VerifyResult found = verify(folder, true);
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.facts, 8);  // the eighth opens it with a key of its own
  const StoreReader reader(folder);
  EXPECT_EQ(reader.current_definition("bench", "north")->by, "Ada");
  const auto starts = reader.starts_without_record();
  ASSERT_EQ(starts.size(), 3U);
  EXPECT_EQ(starts.back().start.serial, "QH2");
  EXPECT_EQ(starts.back().start.attempt, 2);
  EXPECT_EQ(reader.repairs_of("QH2").front().finding, "worn ring");
  EXPECT_EQ(reader.bench_events("north").front().fact.code, "out_of_use");
}

TEST_P(ReleasedVersion, TakesFactsOfThisVersion) {
  StoreWriter writer(folder);
  writer.append(Disposition{.serial = "QH2", .decision = "scrap", .reason = "x", .by = "Ada"});
  test::append_test(writer, "QH9");
  EXPECT_FALSE(verify(folder, false).first_bad);
}

INSTANTIATE_TEST_SUITE_P(Version, ReleasedVersion, ::testing::Values(1));

}  // namespace
}  // namespace endgate::schema
