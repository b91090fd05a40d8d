// What does a test of the scenario cost on disk, evaluated as the daemon does it?  Counted.

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdio>

#include "analysis/standing.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"
#include "fixtures/history/campaign.h"
#include "schema/store.h"
#include "tests/history/loaded_scenario.h"
#include "tests/support/delta_entropy.h"
#include "tests/support/logged_trees.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::history {
namespace {

// Two units of each model.
const std::vector<TestedUnit>& tested() {
  static const std::vector<TestedUnit> units = [] {
    CampaignOptions options;
    options.units = 8;
    return run_campaign(scenario(), options);
  }();
  return units;
}

schema::Record record_of(const TestedUnit& unit, const schema::TestStart& start,
                         schema::Position position, const analysis::Context& context) {
  const std::vector<analysis::PastTest> tests{{.attempt = 1,
                                               .verdict = unit.evaluation.grade.verdict,
                                               .purpose = "production",
                                               .metrics = unit.evaluation.metrics}};
  return daemon::record_of({.start = start,
                            .start_position = position,
                            .finished = {.utc_ms = start.at.utc_ms + 71'400},
                            .cycle_s = unit.cycle_s,
                            .software = "endgate 0.1.0",
                            .simulated = true},
                           unit.test.trace, context, unit.evaluation,
                           analysis::standing_of(tests, context.limits));
}

schema::Position keep(schema::StoreWriter& writer, const TestedUnit& unit, int round) {
  schema::TestStart start = test::made_start(unit.serial + "-" + std::to_string(round));
  start.model = unit.model;
  const schema::Position position = writer.append(start);
  return writer.append(record_of(unit, start, position, scenario().context("north", unit.model)),
                       std::nullopt);
}

TEST(StoreCost, OfAnEvaluatedRecordIsWithinTheBudgetOfTheLog) {
  constexpr int rounds = 8;
  const int tests = rounds * static_cast<int>(tested().size());
  test::ShimVfs shim;
  shim.sync_really = false;
  const test::TemporaryFolder folder;
  schema::StoreWriter writer(folder);
  schema::Position last = 0;
  for (const TestedUnit& unit : tested()) keep(writer, unit, 0);
  shim.reset_counts();
  shim.keep_log = true;
  for (int round = 1; round <= rounds; ++round)
    for (const TestedUnit& unit : tested()) last = keep(writer, unit, round);
  const std::int64_t per_test = shim.bytes["records.db-wal"] / tests;
  const auto sealed = schema::StoreReader(folder).sealed_fact(last)->bytes.size();
  std::printf("log bytes per evaluated record: %lld; the last fact: %zu bytes\n",
              static_cast<long long>(per_test), sealed);
  for (const auto& [tree, pages] : test::pages_by_tree(folder, test::pages_logged(shim)))
    std::printf("  pages per test of %s: %.2f\n", tree.c_str(), 1.0 * pages / tests);
  // The goal is 50 kB.  33 kB of it are the sealed fact, 19 kB of which the context, the same in
  // every test of a model on a bench.
  EXPECT_LE(per_test, 80'000);
}

TEST(StoreCost, OfATraceIsNearTheEntropyOfItsDifferences) {
  double kept = 0, of_samples = 0, entropy = 0;
  for (const TestedUnit& unit : tested()) {
    const schema::Trace trace = daemon::stored_trace_of(unit.test.trace);
    const std::vector<std::uint8_t> bytes = schema::encode(trace);
    EXPECT_EQ(schema::hash_of(schema::decode(bytes)), schema::hash_of(trace)) << unit.serial;
    schema::Trace samples = trace;
    samples.marks.clear();
    kept += static_cast<double>(bytes.size());
    of_samples += static_cast<double>(schema::encode(samples).size());
    entropy += test::delta_entropy_bytes(trace);
  }
  std::printf(
      "traces: %.0f bytes each; of the order-0 entropy of the best delta %.3f, with marks %.3f\n",
      kept / static_cast<double>(tested().size()), of_samples / entropy, kept / entropy);
  EXPECT_LE(of_samples / entropy, 1.10);
  EXPECT_LE(kept / entropy, 1.15);
}

}  // namespace
}  // namespace endgate::history
