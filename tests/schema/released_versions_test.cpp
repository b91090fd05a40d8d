// Does a store that an earlier version wrote become one of this version, with every fact as sealed?
//
// fixtures/databases/version-N holds the files as version N left them.

#include <gtest/gtest.h>

#include "schema/trend_file.h"
#include "schema/verify.h"
#include "tests/support/made_facts.h"
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
  EXPECT_EQ(found.facts, 10);  // the tenth opens it with a key of its own
  EXPECT_EQ(found.traces, 1);
  const StoreReader reader(folder);
  EXPECT_EQ(reader.current_definition("bench", "north")->by, "Ada");
  const auto starts = reader.starts_without_record();
  ASSERT_EQ(starts.size(), 3U);
  EXPECT_EQ(starts.back().start.serial, "QH2");
  EXPECT_EQ(starts.back().start.attempt, 2);
  EXPECT_EQ(reader.repairs_of("QH2").front().fact.finding, "worn ring");
  EXPECT_EQ(reader.bench_events("north").front().fact.code, "out_of_use");
}

TEST_P(ReleasedVersion, GivesBackItsRecordAndItsTrace) {
  { StoreWriter writer(folder); }
  const StoreReader reader(folder);
  const auto records = reader.records_of("QH3");
  ASSERT_EQ(records.size(), 1U);
  const TestStart start = test::made_start("QH3");
  Record expected = test::made_record(records[0].record.start_position, start);
  EXPECT_EQ(records[0].record.metrics.size(), expected.metrics.size());
  EXPECT_EQ(records[0].record.metrics[2].value, expected.metrics[2].value);
  EXPECT_EQ(records[0].record.reasons.front().code, "within_limits");
  const auto trace = reader.trace_of(records[0]);
  ASSERT_TRUE(trace);
  EXPECT_TRUE(test::same(*trace, test::made_trace(3, 2, 8, 1)));
  EXPECT_EQ(reader.trend("P1-60-12", "fad_400", 10).size(), 1U);
}

TEST_P(ReleasedVersion, CatchesUpTheFileOfTrends) {
  { StoreWriter writer(folder); }
  const StoreReader reader(folder);
  { TrendWriter(folder).catch_up(reader); }
  std::size_t tests = 0;
  TrendReader::open(reader)->for_each_test("P1-60-12", "fad_400", 0,
                                           [&](const TrendTest&, const TrendMetric&) { ++tests; });
  EXPECT_EQ(tests, 1U);
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
