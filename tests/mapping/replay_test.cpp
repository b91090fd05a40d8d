// A kept test is evaluated again, from a copied folder and nothing else, and says the same.

#include "daemon/mapping/replay.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>
#include <memory>

#include "daemon/mapping/trace_of.h"
#include "schema/copied_record.h"
#include "schema/seal.h"
#include "tests/mapping/shifted_memory.h"
#include "tests/support/evaluated_test.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using schema::Record;
using schema::StoreFault;
using test::fault_of;

using KeptTest = test::EvaluatedTest;

KeptTest made_test() { return test::evaluated_test(test::made_start("QH26480117-A"), 2); }

void copy_out_of_a_store(const KeptTest& kept, const std::filesystem::path& to) {
  test::TemporaryFolder store;
  schema::StoreWriter writer(store);
  ASSERT_EQ(writer.append(kept.record.start), kept.record.start_position);
  schema::copy_out(schema::StoreReader(store), writer.append(kept.record, kept.trace), to);
}

TEST(Replay, IsBitForBitFromACopiedFolderWithoutAnyDefinitionFile_R1) {
  const KeptTest kept = made_test();
  ASSERT_FALSE(kept.record.metrics.empty());
  EXPECT_EQ(kept.record.verdict, "pass");
  test::TemporaryFolder copy;
  copy_out_of_a_store(kept, copy);
  const schema::CopiedRecord copied = schema::read_copied_record(copy);
  ASSERT_TRUE(copied.trace);
  const ReplayResult result = replay(copied.stored.record, *copied.trace);
  EXPECT_TRUE(result.bit_for_bit) << ::testing::PrintToString(result.not_equal);
  EXPECT_TRUE(result.differences.empty());
}

// Exit status of the replay by a build without optimisation, and what it printed.
std::pair<int, std::string> replayed_unoptimised(const std::filesystem::path& folder) {
  const std::string command = std::string(REPLAY_UNOPTIMISED_PROGRAM) + " " + folder.string();
  FILE* output = popen(command.c_str(), "r");
  std::string text;
  for (int c = std::fgetc(output); c != EOF; c = std::fgetc(output)) text += static_cast<char>(c);
  return {pclose(output), text};
}

TEST(Replay, KeepsItsPromiseInABuildOfAnotherOptimisationLevel_R2) {
  const KeptTest kept = made_test();
  test::TemporaryFolder copy;
  copy_out_of_a_store(kept, copy);
  const auto [status, text] = replayed_unoptimised(copy);
  EXPECT_EQ(status, 0) << text;
  std::printf("replay without optimisation: %s", text.c_str());
}

// A vectorised sum would change with where its data lie.  Every allocation of the replay is moved
// by 16, 32 and 48 bytes from a cache line's start.
TEST(Replay, IsBitForBitWhereverItsDataLieInMemory_R1) {
  const KeptTest kept = made_test();
  for (const std::size_t shift : {0U, 16U, 32U, 48U}) {
    const test::ShiftedMemory moved(shift);
    const ReplayResult result = replay(kept.record, kept.trace);
    EXPECT_TRUE(result.bit_for_bit)
        << "shift " << shift << ": " << ::testing::PrintToString(result.not_equal);
  }
}

TEST(Replay, MovesItsDataWhenAsked) {
  const auto address = [](std::size_t shift) {
    const test::ShiftedMemory moved(shift);
    return reinterpret_cast<std::uintptr_t>(std::make_unique<double[]>(100).get()) % 64;
  };
  EXPECT_EQ(address(16), 16U);
  EXPECT_EQ(address(48), 48U);
}

Record with_metric_changed(Record record, double factor) {
  for (schema::MetricValue& metric : record.metrics)
    if (metric.id == "fad_400") *metric.value *= factor;
  return record;
}

TEST(Replay, AllowsAnotherBuildABillionthAndNoMore_R2) {
  const KeptTest kept = made_test();
  const ReplayResult tiny = replay(with_metric_changed(kept.record, 1 + 1e-12), kept.trace);
  EXPECT_FALSE(tiny.bit_for_bit);
  EXPECT_EQ(tiny.not_equal, std::vector<std::string>{"metrics"});
  EXPECT_TRUE(tiny.differences.empty());
  const ReplayResult large = replay(with_metric_changed(kept.record, 1 + 1e-6), kept.trace);
  ASSERT_EQ(large.differences.size(), 1U);
  EXPECT_EQ(large.differences[0].rfind("fad_400: was ", 0), 0U) << large.differences[0];
}

TEST(Replay, TellsAnotherVerdict_R2) {
  KeptTest kept = made_test();
  kept.record.verdict = kept.record.verdict == "pass" ? "fail" : "pass";
  const ReplayResult result = replay(kept.record, kept.trace);
  ASSERT_EQ(result.differences.size(), 1U);
  EXPECT_EQ(result.differences[0].rfind("verdict: was ", 0), 0U) << result.differences[0];
}

// The metric sits on the bound of its pass band to the last digits: then the word may change.
TEST(Replay, ForgivesAnotherVerdictAtAnAcceptanceLimit_R2) {
  KeptTest kept = made_test();
  Record& record = kept.record;
  ASSERT_FALSE(record.limits.empty());
  schema::LimitAsWas& limit = record.limits[0];
  const auto metric = std::ranges::find(record.metrics, limit.metric, &schema::MetricValue::id);
  ASSERT_NE(metric, record.metrics.end());
  ASSERT_TRUE(metric->value);
  limit.outcome = limit.outcome == "pass" ? "undecided" : "pass";
  record.verdict = record.verdict == "pass" ? "undecided" : "pass";
  EXPECT_EQ(replay(record, kept.trace).differences.size(), 1U);
  limit.lower = *metric->value * (1 + 1e-11) - limit.pass_band;
  EXPECT_TRUE(replay(record, kept.trace).differences.empty());
}

TEST(Replay, RefusesATraceThatIsNotTheOneSealed) {
  KeptTest kept = made_test();
  kept.trace.columns[0].raw[5] += 1;
  EXPECT_EQ(fault_of([&] { (void)replay(kept.record, kept.trace); }), StoreFault::Kind::damaged);
}

TEST(Replay, SaysThatATestWithoutTraceCannotBeReplayed) {
  const Record record = broken_off_record(test::made_start("QH1"), 2, {}, "endgate 0.1.0");
  EXPECT_EQ(fault_of([&] { (void)replay(record, schema::Trace{}); }), StoreFault::Kind::refused);
}

}  // namespace
}  // namespace endgate::daemon
