// Does a store that an earlier version wrote become one of this version, with every fact as sealed?
//
// fixtures/databases/version-N holds the files as version N left them.

#include <gtest/gtest.h>

#include <optional>
#include <variant>

#include "schema/backup.h"
#include "schema/migrations.h"
#include "schema/seal.h"
#include "schema/sqlite_handle.h"
#include "schema/trend_file.h"
#include "schema/verify.h"
#include "tests/support/made_facts.h"
#include "tests/support/second_opinion.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;

struct Released {
  int version = 0;
  std::int64_t facts = 0;
};
void PrintTo(const Released& released, std::ostream* out) { *out << released.version; }

class ReleasedVersion : public ::testing::TestWithParam<Released> {
 protected:
  ReleasedVersion() {
    fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures" / "databases" /
                 ("version-" + std::to_string(GetParam().version)),
             folder.path(), fs::copy_options::recursive | fs::copy_options::overwrite_existing);
  }
  static std::int64_t version_of(const fs::path& store) {
    return Database(store / "records.db", Database::Mode::read_only).number("PRAGMA user_version");
  }
  test::TemporaryFolder folder;
};

std::int64_t newest_version() { return static_cast<std::int64_t>(kTruthFile.migrations.size()); }

TEST_P(ReleasedVersion, IsRefusedByAReaderUntilAWriterBroughtItUpToDate) {
  const auto fault = test::fault_of([&] { StoreReader reader(folder); });
  const bool old = GetParam().version < newest_version();
  EXPECT_EQ(fault, old ? std::optional(StoreFault::Kind::wrong_version) : std::nullopt);
  { StoreWriter writer(folder); }
  EXPECT_EQ(StoreReader(folder).last_attempt("QH2"), 2);
}

TEST_P(ReleasedVersion, KeepsEveryFactAsItWasSealed) {
  { StoreWriter writer(folder); }
  const VerifyResult found = verify(folder, true);
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.facts, GetParam().facts + 1);  // one opens it with a key of its own
  EXPECT_EQ(found.traces, 1);
  const StoreReader reader(folder);
  EXPECT_EQ(reader.current_definition("bench", "north")->by, "Ada");
  const auto starts = reader.starts_without_record();
  ASSERT_EQ(starts.size(), 3U);
  EXPECT_EQ(starts.back().start.serial, "QH2");
  EXPECT_EQ(starts.back().start.attempt, 2);
  EXPECT_EQ(reader.repairs_of("QH2").front().fact.finding, "worn ring");
}

TEST_P(ReleasedVersion, IsVerifiedAsItIs) {
  const VerifyResult found = verify(folder, true);
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.facts, GetParam().facts);
  EXPECT_EQ(found.traces, 1);
  const test::SecondOpinion theirs = test::second_opinion(folder);
  EXPECT_EQ(theirs.status, 0) << theirs.text;
  EXPECT_EQ(version_of(folder), GetParam().version);
}

TEST_P(ReleasedVersion, HidesNoChangeByItsAge) {
  {
    Database stranger(folder.path() / "records.db", Database::Mode::read_write);
    stranger.run("DROP TRIGGER bench_event_is_never_updated; UPDATE bench_event SET code = 'x'");
  }
  EXPECT_EQ(verify(folder, false).first_bad, 7);
  EXPECT_NE(test::second_opinion(folder).text.find("position 7:"), std::string::npos);
}

// An upgrade leaves the old daemon running, and so its store, for as many nights as it likes.
TEST_P(ReleasedVersion, IsBackedUpAsItIsAndRestoredInThisVersion) {
  const test::TemporaryFolder other;
  const fs::path copy = other.path() / "copy";
  const fs::path again = other.path() / "again";
  EXPECT_EQ(back_up(folder, copy).facts, GetParam().facts);
  EXPECT_EQ(version_of(copy), GetParam().version);
  restore(copy, again);
  EXPECT_EQ(StoreReader(again).last_attempt("QH2"), 2);
  const VerifyResult found = verify(again, true);
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.traces, 1);
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
  ASSERT_FALSE(records[0].record.reasons.empty());
  EXPECT_EQ(records[0].record.reasons.front().code, "within_limits");
  const auto trace = reader.trace_of(records[0]);
  ASSERT_TRUE(trace);
  EXPECT_TRUE(test::same(*trace, test::made_trace(3, 2, 8, 1)));
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
  writer.append(Withdrawal{.withdrawn = 5, .why = "another unit", .by = "Ada"});
  test::append_test(writer, "QH9");
  EXPECT_FALSE(verify(folder, false).first_bad);
}

INSTANTIATE_TEST_SUITE_P(Version, ReleasedVersion,
                         ::testing::Values(Released{1, 9}, Released{2, 17}, Released{3, 19}));

TEST(ReleasedVersions, HaveAStoreEach) {
  const fs::path folder = fs::path(ENDGATE_SOURCE_DIR) / "fixtures" / "databases";
  std::int64_t stores = 0;
  for (const auto& entry : fs::directory_iterator(folder)) stores += entry.is_directory();
  EXPECT_EQ(stores, newest_version());
  for (std::int64_t version = 1; version <= newest_version(); ++version) {
    const fs::path file = folder / ("version-" + std::to_string(version)) / "records.db";
    ASSERT_TRUE(fs::exists(file)) << file << ": a migration comes with a store of its version";
    EXPECT_LT(fs::file_size(file), 400'000U) << file;
  }
}

TEST(ReleasedVersions, OfTheNewestHoldAFactOfEveryKind) {
  const fs::path store = fs::path(ENDGATE_SOURCE_DIR) / "fixtures" / "databases" /
                         ("version-" + std::to_string(newest_version()));
  const test::TemporaryFolder folder;
  fs::copy(store, folder.path(),
           fs::copy_options::recursive | fs::copy_options::overwrite_existing);
  Database database(folder.path() / "records.db", Database::Mode::read_only);
  EXPECT_EQ(database.number("SELECT COUNT(DISTINCT kind) FROM fact"),
            static_cast<std::int64_t>(std::variant_size_v<Fact>));
}

}  // namespace
}  // namespace endgate::schema
