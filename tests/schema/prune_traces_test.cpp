// Samples leave by a stated policy: the numbers stay, the seal holds, and nothing else is missing.

#include "schema/prune_traces.h"

#include <gtest/gtest.h>

#include "schema/backup.h"
#include "schema/sqlite_handle.h"
#include "schema/verify.h"
#include "tests/support/second_opinion.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

constexpr std::int64_t kMonthMs = std::int64_t{31} * 86'400'000;

// Two tests in November, one in December: two trace files.
class PrunedTraceFiles : public ::testing::Test {
 protected:
  PrunedTraceFiles() {
    StoreWriter writer(folder.path());
    old_ = keep(writer, "QH1", 0);
    spared_ = keep(writer, "QH2", 0);
    newest_ = keep(writer, "QH3", kMonthMs);
  }
  static Position keep(StoreWriter& writer, const std::string& serial, std::int64_t later_ms) {
    TestStart start = test::made_start(serial);
    start.at.utc_ms += later_ms;
    const Position position = writer.append(start);
    return writer.append(test::made_record(position, start), test::made_trace(4, 20, 3, 1));
  }
  void state(Position record) const {
    StoreWriter(folder.path())
        .append(std::vector{
            TraceRemoved{.record = record, .policy = "older than 700 days", .by = "Ada"}});
  }
  [[nodiscard]] bool has_samples(Position record) const {
    const StoreReader reader(folder.path());
    return reader.trace_of(*reader.record_at(record)).has_value();
  }
  [[nodiscard]] VerifyResult verified() const { return verify(folder.path(), true); }

  test::TemporaryFolder folder;
  Position old_ = 0, spared_ = 0, newest_ = 0;
};

TEST_F(PrunedTraceFiles, LoseWhatIsStatedAndNothingElse_P1) {
  state(old_);
  const PrunedTraces pruned = take_stated_traces(folder.path());
  EXPECT_EQ(pruned.traces, 1);
  EXPECT_GT(pruned.bytes, 0U) << "the disk has its space back";
  EXPECT_FALSE(has_samples(old_));
  EXPECT_TRUE(has_samples(spared_));
  EXPECT_TRUE(has_samples(newest_));
  const StoreReader reader(folder.path());
  EXPECT_EQ(reader.record_at(old_)->record.metrics.size(), 12U) << "the numbers stay";
  EXPECT_EQ(reader.trace_removal_of(old_)->fact.trace_sha256,
            reader.record_at(old_)->record.trace_sha256);
  EXPECT_EQ(reader.records_without_trace(), std::vector{old_});
}

TEST_F(PrunedTraceFiles, AreVerifiedAsBefore) {
  state(old_);
  take_stated_traces(folder.path());
  const VerifyResult found = verified();
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.traces, 2);
  EXPECT_EQ(found.removed, 1);
  const test::SecondOpinion theirs = test::second_opinion(folder);
  EXPECT_EQ(theirs.status, 0) << theirs.text;
  const test::TemporaryFolder other;
  EXPECT_FALSE(back_up(folder.path(), other.path() / "copy").first_bad);
}

TEST_F(PrunedTraceFiles, MissingSamplesThatNobodyStatedAreDamage) {
  {
    Database file(folder.path() / "trace-0001.db", Database::Mode::read_write);
    file.run("DROP TRIGGER trace_is_never_deleted; DELETE FROM trace WHERE id = 1");
  }
  EXPECT_EQ(verified().first_bad, old_);
  state(spared_);
  EXPECT_EQ(verified().first_bad, old_) << "a removal excuses its own record alone";
}

TEST_F(PrunedTraceFiles, ANewestOneWaits_P2) {
  state(newest_);
  const PrunedTraces pruned = take_stated_traces(folder.path());
  EXPECT_EQ(pruned.traces, 0);
  EXPECT_EQ(pruned.waiting, 1);
  EXPECT_TRUE(has_samples(newest_));
  EXPECT_FALSE(verified().first_bad);
  {  // a third file begins
    StoreWriter writer(folder.path());
    keep(writer, "QH4", 2 * kMonthMs);
  }
  EXPECT_EQ(take_stated_traces(folder.path()).traces, 1);
  EXPECT_FALSE(has_samples(newest_));
}

TEST_F(PrunedTraceFiles, StayAppendOnly) {
  state(old_);
  take_stated_traces(folder.path());
  Database file(folder.path() / "trace-0001.db", Database::Mode::read_write);
  EXPECT_EQ(test::fault_of([&] { file.run("DELETE FROM trace"); }), StoreFault::Kind::refused);
  EXPECT_EQ(test::fault_of([&] { file.run("UPDATE trace SET bytes = x'00'"); }),
            StoreFault::Kind::refused);
}

TEST_F(PrunedTraceFiles, ASecondCallFindsNothingToDo) {
  state(old_);
  take_stated_traces(folder.path());
  const PrunedTraces again = take_stated_traces(folder.path());
  EXPECT_EQ(again.traces, 0);
  EXPECT_EQ(again.bytes, 0U);
}

// The service goes on writing to the newest file meanwhile, and people go on reading.
TEST_F(PrunedTraceFiles, AreTakenWhileTheStoreIsInUse) {
  state(old_);
  StoreWriter writer(folder.path());
  const StoreReader reader(folder.path());
  EXPECT_TRUE(reader.trace_of(*reader.record_at(spared_)));
  EXPECT_EQ(take_stated_traces(folder.path()).traces, 1);
  EXPECT_TRUE(reader.trace_of(*reader.record_at(spared_)));
  EXPECT_FALSE(reader.trace_of(*reader.record_at(old_)));
  keep(writer, "QH5", kMonthMs);
  EXPECT_FALSE(verified().first_bad);
}

TEST_F(PrunedTraceFiles, ARemovalIsStatedOnceAndOfARecordWithSamplesAlone) {
  state(old_);
  StoreWriter writer(folder.path());
  const auto refused = [&](Position record) {
    return test::fault_of(
        [&] { writer.append(std::vector{TraceRemoved{.record = record, .by = "Ada"}}); });
  };
  const Position bare = test::append_test(writer, "QH6");
  const Position last = writer.last_position();
  for (const Position wrong : {old_, bare, Position{1}, Position{999}})
    EXPECT_EQ(refused(wrong), StoreFault::Kind::refused) << wrong;
  EXPECT_EQ(writer.last_position(), last);
}

}  // namespace
}  // namespace endgate::schema
