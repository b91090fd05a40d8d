// Charts of batch means, single tests and causes of fails of a store whose history is known.

#include "daemon/queries/batch_charts.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "analysis/statistics/run_length.h"
#include "daemon/queries/bench_offset.h"
#include "daemon/queries/fail_causes.h"
#include "daemon/queries/tests_shown.h"
#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

const TrendFilter kFilter{.model = "P1-60-12"};

TrendTold told_about(const test::BatchHistory& history) {
  return *told_of(history.reader(), kFilter, "fad_400");
}

using enum statistics::ControlRule;

TEST(BatchCharts, AsMeasuredAreThoseThatTheCommandTells) {
  test::BatchHistory history;
  history.make({.product_shift = -0.05});
  const TrendTold told = told_about(history);
  const BatchCharts charts = charts_as_measured(told);
  ASSERT_EQ(charts.control.batches.size(), charts.means.size());
  EXPECT_EQ(charts.control.signals.size(), told.control.signals.size());
  EXPECT_EQ(charts.control.batches[3].running, told.control.batches[3].running);
}

TEST(BatchCharts, AProductThatMovedChangesTheLevelOnBothSidesFromItsBatchOn) {
  test::BatchHistory history;
  history.make({.product_shift = -0.05});
  const TrendTold told = told_about(history);
  EXPECT_TRUE(bench_taken_out(told));
  for (const BatchCharts& charts : {charts_as_measured(told), charts_without_bench(told)}) {
    ASSERT_EQ(charts.levels.size(), 2U);
    EXPECT_EQ(charts.levels[1].from, 8U);
    EXPECT_NEAR(charts.levels[1].mean - charts.levels[0].mean, -4e-5, 1e-5);
    EXPECT_FALSE(charts.control.signals_of(running_sum).empty());
  }
}

TEST(BenchOffsets, ADriftIsToldBatchByBatchWithItsUncertaintyAgainstTheFirstBatch) {
  test::BatchHistory history;
  history.make({.bench_shift = -0.06});
  const TrendTold told = told_about(history);
  const std::vector<BenchOffset> offsets = bench_offsets(told);
  ASSERT_EQ(offsets.size(), 2U);
  for (const BenchOffset& offset : offsets) {
    ASSERT_EQ(offset.batches.size(), 14U);
    EXPECT_EQ(offset.batches.front().drift, 0);
    const statistics::BenchAtBatch& last = offset.batches.back();
    EXPECT_GT(last.u, 0);
    EXPECT_NEAR(last.drift, offset.bench == "south" ? -0.06 * 8e-4 : 0, 3 * last.u);
    EXPECT_NEAR(offset.batches[4].drift, 0, 3 * offset.batches[4].u);
    EXPECT_EQ(words_of(told, offset).find("Bench " + offset.bench + ": "), 0U);
  }
}

double span_of_levels(const BatchCharts& charts) {
  const auto [low, high] = std::ranges::minmax(charts.levels, {}, &BatchLevel::mean);
  return high.mean - low.mean;
}

TEST(BatchCharts, ABenchThatDriftedIsSeenAsMeasuredAndLargelyGoneWhenItsEffectIsTakenOut) {
  test::BatchHistory history;
  history.make({.bench_shift = -0.06});
  const TrendTold told = told_about(history);
  const BatchCharts measured = charts_as_measured(told), without = charts_without_bench(told);
  ASSERT_EQ(measured.levels.size(), 2U);
  EXPECT_EQ(measured.levels[1].from, 8U);
  EXPECT_NEAR(span_of_levels(measured), 0.03 * 8e-4, 5e-6);  // one of two benches
  EXPECT_LT(span_of_levels(without), 0.4 * span_of_levels(measured));
}

TEST(BatchCharts, WhatNeverMovedHasOneLevelAndNoSignal) {
  test::BatchHistory history;
  history.make({});
  const BatchCharts charts = charts_as_measured(told_about(history));
  EXPECT_EQ(charts.levels.size(), 1U);
  EXPECT_TRUE(charts.control.signals.empty());
}

TEST(BatchCharts, OneBatchHasNoLimitsAndNoneIsEmpty) {
  test::BatchHistory history;
  history.make({.batches = 1});
  const BatchCharts one = charts_as_measured(told_about(history));
  EXPECT_FALSE(one.control.batches.front().has_limits);
  EXPECT_EQ(one.levels.size(), 1U);
  EXPECT_TRUE(charts_as_measured(TrendTold{}).levels.empty());
}

// 370.4 is what limits of 3 standard deviations promise (common practice, no source).
TEST(BatchCharts, TheRunningSumSignalsFalselyAsRarelyAsLimitsOfThreeStandardDeviations) {
  EXPECT_NEAR(
      statistics::running_sum_run_length(statistics::kSumAllowance, statistics::kSumBound, 0), 370,
      5);
}

TEST(BatchesByBench, EveryBatchStandsOnceForEachBenchThatTestedIt) {
  test::BatchHistory history;
  history.make({.batches = 3});
  const BatchesByBench by_bench =
      batches_by_bench(columns_of(history.reader(), kFilter, "fad_400").columns);
  ASSERT_EQ(by_bench.means.size(), 6U);
  EXPECT_EQ(by_bench.benches, (std::vector<std::string>{"north", "south"}));
  for (const BenchBatch& group : by_bench.means) {
    EXPECT_EQ(group.n, 5);
    EXPECT_NEAR(group.mean, 8e-4, 2e-5);
    EXPECT_GT(group.sigma, 0);
  }
}

TEST(TestsShown, AreTheNewestOfThoseThatMatchWithTheScatterOfAll) {
  test::BatchHistory history;
  history.make({.batches = 3});
  const TestsShown shown = tests_shown(history.reader(), kFilter, "fad_400", 4);
  EXPECT_EQ(shown.matching, 30U);
  ASSERT_EQ(shown.rows.size(), 4U);
  EXPECT_EQ(shown.rows.back().serial, "b2-9");
  EXPECT_NEAR(*shown.mean, 8e-4, 1e-5);
  EXPECT_NEAR(*shown.sigma, 8e-6, 4e-6);
  TrendFilter one = kFilter;
  one.bench = "south";
  one.since_utc_ms = test::BatchHistory::kFirstDayUtcMs + 2 * test::BatchHistory::kDayMs;
  EXPECT_EQ(tests_shown(history.reader(), one, "fad_400", 100).matching, 5U);
}

TEST(TestsShown, TheLimitIsTheOneHeldLast) {
  test::BatchHistory history;
  history.make({.batches = 1});
  const auto held = limit_held_last(history.reader(), "P1-60-12", "fad_400");
  ASSERT_TRUE(held);
  EXPECT_EQ(held->bounds.lower, 7e-4);
  EXPECT_EQ(held->pass_band, 1e-5);
  EXPECT_FALSE(limit_held_last(history.reader(), "P1-60-12", "back_leak"));
}

TEST(FailCauses, AreCountedByUnitWithTheMostFrequentFirst) {
  test::BatchHistory history;
  history.make({.batches = 3});
  const FailCauses told = fail_causes_of(history.reader(), kFilter);
  EXPECT_EQ(told.failed, 3);
  ASSERT_EQ(told.causes.size(), 1U);
  EXPECT_EQ(told.causes.front().cause, "worn piston ring");
  EXPECT_EQ(told.causes.front().units.count, 3);
  const FailCauses newest = fail_causes_of(history.reader(), kFilter, 2);
  EXPECT_EQ(newest.looked_at, 2);
  EXPECT_EQ(newest.failed, 3);
}

}  // namespace
}  // namespace endgate::daemon
