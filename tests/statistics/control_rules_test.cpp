#include "analysis/statistics/control_rules.h"

#include <gtest/gtest.h>

#include "analysis/statistics/run_length.h"

namespace endgate::statistics {
namespace {

using enum ControlRule;

// First point, from 1, that breaks the rule; 0: none does.
std::size_t first_broken(ControlRule rule, const std::vector<double>& z) {
  RuleWatch watch{ControlRules(rule)};
  for (std::size_t i = 0; i < z.size(); ++i)
    if (watch.step(z[i]).has(rule)) return i + 1;
  return 0;
}

TEST(ControlRules, EachSignalsAtThePointThatBreaksItAndNotBefore) {
  EXPECT_EQ(first_broken(outside, {0.5, 3.0, -2.9, -3.1}), 4U);
  EXPECT_EQ(first_broken(two_of_three, {2.5, 0, 2.1}), 3U);
  EXPECT_EQ(first_broken(two_of_three, {2.5, -2.5, 0, 0, 2.1, 0, 0, 2.1}), 0U);
  EXPECT_EQ(first_broken(one_side, std::vector<double>(20, -0.1)), 9U);
  EXPECT_EQ(first_broken(one_side, {-1, 1, 1, 1, 1, 1, 1, 1, 1, -1, 1}), 0U);
  EXPECT_EQ(first_broken(running_sum, std::vector<double>(20, 1.5)), 5U);  // 1 a point above 4.77
  EXPECT_EQ(first_broken(running_sum, std::vector<double>(99, 0.5)), 0U);
}

TEST(ControlRules, TheRunningMeanIsThatOfTheChart) {
  const std::vector<double> values{1, 2, 0, 3, 2, 2};
  const RunningMean chart = statistics::running_mean(values, 0, 1, kRunningWeight, kRunningWidth);
  RuleWatch watch{ControlRules(running_mean)};
  for (std::size_t i = 0; i < values.size(); ++i) {
    const bool signals = watch.step(values[i]).any();
    EXPECT_NEAR(watch.running_mean(), chart.mean[i], 1e-12);
    EXPECT_NEAR(watch.running_half_width(), chart.half_width[i], 1e-12);
    EXPECT_EQ(signals, chart.mean[i] > chart.half_width[i]);
  }
}

TEST(ControlRules, ARuleThatIsNotInForceNeverSignals) {
  RuleWatch watch{ControlRules(one_side)};
  EXPECT_FALSE(watch.step(10).any());
}

double together(ControlRules rules, double shift = 0, std::size_t points = 1'000'000) {
  return run_length_together({.rules = rules, .shift = shift, .points = points});
}

// C. W. Champ and W. H. Woodall 1987 (from memory): 370.40, 225.44.  With a run of nine: by Markov
// chain, fixtures/published/charts/run-rules-arl.csv.
TEST(RunLengthTogether, OfRunRulesAgreesWithChampAndWoodall) {
  EXPECT_NEAR(together(ControlRules(outside), 0, 2'000'000) / 370.398, 1, 0.04);
  EXPECT_NEAR(together(ControlRules(outside, two_of_three), 0, 2'000'000) / 225.438, 1, 0.03);
  EXPECT_NEAR(together(ControlRules(outside, one_side), 0, 2'000'000) / 216.696, 1, 0.03);
  EXPECT_NEAR(together(ControlRules(outside, one_side), 1) / 17.053, 1, 0.015);
  EXPECT_NEAR(together(ControlRules(outside, two_of_three), 1) / 20.005, 1, 0.015);
}

// Computed by integral equation, itself checked against Lucas and Saccucci, Lucas and Crosier.
TEST(RunLengthTogether, OfRunningMeanAndSumAgreesWithTheComputedOnes) {
  EXPECT_NEAR(
      together(ControlRules(running_sum)) / running_sum_run_length(kSumAllowance, kSumBound, 0), 1,
      0.05);
  // The chart's limits are narrower at first, so that it signals a little sooner.
  const double at_full_width = running_mean_run_length(kRunningWeight, kRunningWidth, 0);
  EXPECT_LT(together(ControlRules(running_mean)), at_full_width);
  EXPECT_GT(together(ControlRules(running_mean)), 0.85 * at_full_width);
}

TEST(RunLengthTogether, OfAllRulesIsShorterThanOfAnyAlone) {
  const double all = together(kUsualRules);
  for (const ControlRule rule : kUsualRules.list()) EXPECT_LT(all, together(ControlRules(rule)));
  EXPECT_EQ(all, together(kUsualRules));  // a fixed seed: the same figure every time
}

TEST(RunLengthTogether, IsShorterWhenNeighboursResembleEachOther) {
  const double apart = run_length_together({.points = 200'000});
  const double alike = run_length_together({.likeness = 0.5, .points = 200'000});
  EXPECT_LT(alike, 0.5 * apart);
}

}  // namespace
}  // namespace endgate::statistics
