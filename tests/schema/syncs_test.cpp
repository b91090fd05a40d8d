// How often does a test wait for the disk, and how many bytes does it write?  Counted, not timed.

#include <gtest/gtest.h>

#include "schema/store.h"
#include "tests/support/made_facts.h"
#include "tests/support/shim_vfs.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::made_record;
using test::made_start;
using test::made_trace;

class Syncs : public ::testing::Test {
 protected:
  Syncs() : writer(std::make_unique<StoreWriter>(folder.path())) {
    one_test("QH0");  // opens the trace file of the month
    shim.reset_counts();
  }

  Position start(const std::string& serial) { return writer->append(made_start(serial)); }
  void finish(Position started, const std::string& serial) {
    writer->append(made_record(started, made_start(serial)), trace);
  }
  void one_test(const std::string& serial) { finish(start(serial), serial); }

  test::ShimVfs shim;
  test::TemporaryFolder folder;
  const Trace trace = made_trace(14, 90, 8, 1);
  std::unique_ptr<StoreWriter> writer;
};

TEST_F(Syncs, AreTwoBetweenTheLastSampleAndTheVerdictAndThreeInTheLifeOfATest) {
  const Position started = start("QH1");
  EXPECT_EQ(shim.all_syncs(), 1);
  EXPECT_EQ(shim.syncs["records.db-wal"], 1);
  shim.reset_counts();
  finish(started, "QH1");
  EXPECT_EQ(shim.all_syncs(), 2);
  EXPECT_EQ(shim.syncs["trace-0001.db-wal"], 1);
  EXPECT_EQ(shim.syncs["records.db-wal"], 1);
}

TEST_F(Syncs, StayThreeATestOverCheckpointsWhichPayForTheirOwn) {
  int dearest = 0;
  int truth_checkpoints = 0;
  int trace_checkpoints = 0;
  for (int i = 1; i <= 60; ++i) {
    shim.reset_counts();
    one_test("QH" + std::to_string(i));
    dearest = std::max(dearest, shim.all_syncs());
    shim.reset_counts();
    writer->checkpoint_when_due();
    truth_checkpoints += shim.syncs["records.db"];
    trace_checkpoints += shim.syncs["trace-0001.db"];
  }
  EXPECT_EQ(dearest, 3);
  EXPECT_GE(truth_checkpoints, 1);
  EXPECT_GE(trace_checkpoints, 1);
}

TEST_F(Syncs, StayThreeForTheFirstTestAfterARestart) {
  writer.reset();
  writer = std::make_unique<StoreWriter>(folder.path());
  shim.reset_counts();
  one_test("QH1");
  EXPECT_EQ(shim.all_syncs(), 3);
}

// B-trees a test touches in truth: fact, start, record, record by start, record by model, metric.
// Overflow pages of the sealed bytes are the most of it.
TEST_F(Syncs, WriteNoMoreThanABudgetOfBytesPerTest) {
  constexpr int tests = 20;
  for (int i = 1; i <= tests; ++i) one_test("QH" + std::to_string(i));
  const auto record_bytes = shim.bytes["records.db-wal"] / tests;
  const auto trace_bytes = shim.bytes["trace-0001.db-wal"] / tests;
  RecordProperty("record_wal_bytes", static_cast<int>(record_bytes));
  RecordProperty("trace_wal_bytes", static_cast<int>(trace_bytes));
  RecordProperty("trace_encoded_bytes", static_cast<int>(encode(trace).size()));
  std::printf("log bytes per test: record %lld, trace %lld; encoded trace %zu\n",
              static_cast<long long>(record_bytes), static_cast<long long>(trace_bytes),
              encode(trace).size());
  EXPECT_LT(record_bytes, 50'000);
  EXPECT_LT(trace_bytes, static_cast<long long>(encode(trace).size()) + 20'000);
}

}  // namespace
}  // namespace endgate::schema
