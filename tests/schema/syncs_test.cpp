// How often does a test wait for the disk, and how many bytes does it write?  Counted, not timed.

#include <gtest/gtest.h>

#include <set>

#include "schema/store.h"
#include "tests/support/logged_trees.h"
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

// A checkpoint syncs the file itself, so it may come every tenth test at most: of a trace twice as
// large as any of the demo's, too.
TEST_F(Syncs, OfACheckpointComeAtMostEveryTenthTest) {
  constexpr int tests = 60;
  const Trace large = made_trace(20, 120, 200, 1);
  ASSERT_GT(encode(large).size(), 150'000U);
  int truth_checkpoints = 0, trace_checkpoints = 0;
  for (int i = 1; i <= tests; ++i) {
    const std::string serial = "QH" + std::to_string(i);
    const Position started = start(serial);
    writer->append(made_record(started, made_start(serial)), large);
    shim.reset_counts();
    writer->checkpoint_when_due();
    truth_checkpoints += shim.syncs["records.db"];
    trace_checkpoints += shim.syncs["trace-0001.db"];
  }
  RecordProperty("truth_checkpoints", truth_checkpoints);
  RecordProperty("trace_checkpoints", trace_checkpoints);
  EXPECT_GE(truth_checkpoints, 1);
  EXPECT_GE(trace_checkpoints, 1);
  EXPECT_LE(truth_checkpoints, tests / 10);
  EXPECT_LE(trace_checkpoints, tests / 10);
}

TEST_F(Syncs, StayThreeForTheFirstTestAfterARestart) {
  writer.reset();
  writer = std::make_unique<StoreWriter>(folder.path());
  shim.reset_counts();
  one_test("QH1");
  EXPECT_EQ(shim.all_syncs(), 3);
}

// A B-tree more is 4 kB of log a test and one page more to read on a cold disk.  The signed heads
// come every 256 facts and with the checkpoint.
TEST_F(Syncs, WriteToNoOtherBTreesThanThese) {
  constexpr int tests = 40;
  const std::set<std::string> allowed{
      "sqlite_schema, leaf",  // page 1, whose head says how long the file is
      "sqlite_schema, internal",
      "fact, leaf",
      "fact, overflow",
      "fact, internal",
      "start, leaf",
      "start, internal",
      "record, leaf",
      "record, internal",
      "sqlite_autoindex_record_1, leaf",  // by start
      "sqlite_autoindex_record_1, internal",
      "record_by_model, leaf",
      "record_by_model, internal",
      "metric, leaf",
      "metric, internal"};
  shim.keep_log = true;
  for (int i = 1; i <= tests; ++i) one_test("QH" + std::to_string(i));
  const std::map<std::string, int> written = test::pages_by_tree(folder, test::pages_logged(shim));
  double leaves = 0;
  for (const auto& [tree, pages] : written) {
    std::printf("pages per test of %s: %.2f\n", tree.c_str(), 1.0 * pages / tests);
    EXPECT_TRUE(allowed.contains(tree)) << tree;
    if (tree.ends_with(", leaf")) leaves += 1.0 * pages / tests;
  }
  EXPECT_EQ(written.contains("metric, leaf"), true) << "the log was read";
  EXPECT_LT(leaves, 8) << "fact and start twice, the others once, and now and then a new page";
}

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
