#include "analysis/statistics/control_limits.h"

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <random>
#include <string>
#include <vector>

#include "analysis/statistics/scatter.h"

namespace endgate::statistics {
namespace {

// Batches of the random effects model; standard deviations 1 between, 2 inside.
std::vector<BatchMoments> made(unsigned seed, std::size_t batches, int units, double neighbours = 0,
                               double between = 1) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  std::vector<BatchMoments> out;
  double level = 0;
  for (std::size_t i = 0; i < batches; ++i) {
    level = neighbours * level + std::sqrt(1 - neighbours * neighbours) * normal(random);
    std::vector<double> values;
    for (int unit = 0; unit < units; ++unit)
      values.push_back(50 + between * level + 2 * normal(random));
    const Scatter scatter = scatter_of(values);
    out.push_back({static_cast<double>(scatter.n), *scatter.mean, scatter.sigma.value_or(0)});
  }
  return out;
}

std::vector<BatchMoments> dyestuff() {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) +
                   "/fixtures/published/attribution/dyestuff.csv");
  std::string line;
  std::getline(in, line);
  std::map<char, std::vector<double>> batches;
  while (std::getline(in, line)) batches[line.at(0)].push_back(std::stod(line.substr(2)));
  std::vector<BatchMoments> out;
  for (const auto& [name, values] : batches) {
    const Scatter scatter = scatter_of(values);
    out.push_back({static_cast<double>(scatter.n), *scatter.mean, *scatter.sigma});
  }
  return out;
}

// O. L. Davies 1947, one-way random effects: MS 11271.50 and 2451.25, between 1764.05, mean 1527.5
// (values in fixtures/published/attribution/dyestuff.toml).
TEST(ControlLimits, SplitTheScatterOfTheDyestuffDataAsPublished) {
  const std::vector<BatchMoments> batches = dyestuff();
  ASSERT_EQ(batches.size(), 6U);
  const auto limits = control_limits_of(batches);
  ASSERT_TRUE(limits);
  EXPECT_NEAR(limits->centre, 1527.5, 1e-9);
  EXPECT_NEAR(limits->sigma_between * limits->sigma_between, 1764.05, 1e-6);
  EXPECT_NEAR(limits->sigma_inside * limits->sigma_inside, 2451.25, 1e-6);
  EXPECT_NEAR(limits->sigma_of_mean(5) / limits->widening, std::sqrt(11271.50 / 5), 1e-6);
}

TEST(ControlLimits, LeaveNoOrdinaryBatchOutsideWhereScatterInsideAloneWould) {
  const std::vector<BatchMoments> batches = dyestuff();
  const auto limits = control_limits_of(batches);
  const double inside_alone = 3 * limits->sigma_inside / std::sqrt(5.0);
  bool one_outside = false;
  for (const BatchMoments& batch : batches) {
    EXPECT_LT(std::abs(batch.mean - limits->centre), kOutside * limits->sigma_of_mean(batch.n));
    one_outside = one_outside || std::abs(batch.mean - limits->centre) > inside_alone;
  }
  EXPECT_TRUE(one_outside);
}

TEST(ControlLimits, AreWiderForASmallBatchAndNeverNarrowerThanWhatBatchesDifferBy) {
  const auto limits = control_limits_of(made(1, 30, 20));
  EXPECT_GT(limits->sigma_of_mean(2), limits->sigma_of_mean(20));
  EXPECT_GT(limits->sigma_of_mean(1e9), 0.99 * limits->sigma_between);
  EXPECT_NEAR(limits->sigma_between, 1, 0.4);
  EXPECT_NEAR(limits->sigma_inside, 2, 0.2);
}

TEST(ControlLimits, WithoutADifferenceBetweenBatchesSayNone) {
  int none = 0;
  for (unsigned seed = 1; seed <= 20; ++seed) {
    const auto limits = control_limits_of(made(seed, 20, 5, 0, 0));
    none += limits->sigma_between == 0 ? 1 : 0;
    EXPECT_LT(limits->sigma_between, 1);
  }
  EXPECT_GT(none, 5);  // the moments are below 0 in about half of all such histories
}

// The next batch lies outside as rarely as of a known process: 0.27 %, over what the first 20 were.
TEST(ControlLimits, FromTwentyBatchesLeaveOutTheNextAsRarelyAsPromised) {
  constexpr unsigned kHistories = 20000;
  int outside = 0;
  for (unsigned seed = 1; seed <= kHistories; ++seed) {
    std::vector<BatchMoments> batches = made(seed, 21, 4);
    const BatchMoments next = batches.back();
    batches.pop_back();
    const auto limits = control_limits_of(batches);
    outside += std::abs(next.mean - limits->centre) > kOutside * limits->sigma_of_mean(next.n);
  }
  EXPECT_NEAR(100.0 * outside / kHistories, 0.27, 0.12);
}

// Prediction limits from 20: t(0.99865, 19) = 3.4473 (from a table of quantiles, rounded).
TEST(ControlLimits, AreWidenedByWhatFewBatchesLeaveOpen) {
  EXPECT_NEAR(widening_of(20), 3.4473 * std::sqrt(1.05) / 3, 5e-3);
  EXPECT_NEAR(widening_of(1e6), 1, 1e-4);
  EXPECT_GT(widening_of(20), widening_of(40));
}

TEST(ControlLimits, KnowWhetherNeighbouringBatchesResembleEachOther) {
  EXPECT_GT(control_limits_of(made(3, 60, 20, 0.8))->likeness, 0.4);
  int said = 0;
  for (unsigned seed = 1; seed <= 50; ++seed)
    said += control_limits_of(made(seed, 30, 10))->likeness > 0 ? 1 : 0;
  EXPECT_LE(said, 4);
}

TEST(ControlLimits, NeedTwoBatchesWithRepeatsAndScatter) {
  EXPECT_FALSE(control_limits_of({}));
  EXPECT_FALSE(control_limits_of(std::vector<BatchMoments>{{5, 1, 1}}));
  EXPECT_FALSE(control_limits_of(std::vector<BatchMoments>{{1, 1, 0}, {1, 2, 0}}));
  EXPECT_FALSE(control_limits_of(std::vector<BatchMoments>{{2, 1, 0}, {2, 1, 0}}));
}

TEST(PromisedRunLength, IsASpanWhenTheLimitsCameFromFewBatches) {
  ControlLimits limits{.sigma_between = 1, .sigma_inside = 1};
  const PromisedRunLength known = promised_run_length(limits, kUsualRules);
  EXPECT_EQ(known.low, known.high);
  limits.batches = 20;
  limits.widening = widening_of(20);
  const PromisedRunLength few = promised_run_length(limits, kUsualRules);
  EXPECT_EQ(few.expected, known.expected);
  EXPECT_LT(few.low, few.expected);
  EXPECT_GT(few.high, few.expected);
}

// Against processes that limits were made from: the span holds the true length 9 times of 10.
TEST(PromisedRunLength, LeavesOpenWhatCentreAndStandardDeviationOfTwentyBatchesLeaveOpen) {
  constexpr unsigned kHistories = 200;
  const double sigma = std::sqrt(1 + 4.0 / 4);  // of a mean of four, truly
  const PromisedRunLength promised = promised_run_length(
      {.sigma_between = 1, .widening = widening_of(20), .batches = 20}, kUsualRules);
  int shorter = 0, longer = 0;
  for (unsigned seed = 1; seed <= kHistories; ++seed) {
    const auto limits = control_limits_of(made(seed, 20, 4));
    const double found = limits->sigma_of_mean(4);
    const double truly = run_length_together({.rules = kUsualRules,
                                              .scale = sigma / found,
                                              .shift = (50 - limits->centre) / found,
                                              .points = 20'000});
    shorter += truly < promised.low ? 1 : 0;
    longer += truly > promised.high ? 1 : 0;
  }
  EXPECT_NEAR(100.0 * shorter / kHistories, 5, 4);
  EXPECT_NEAR(100.0 * longer / kHistories, 5, 4);
}

}  // namespace
}  // namespace endgate::statistics
