// Which batch is judged by which frozen limits, and which rule it breaks.

#include "daemon/queries/control_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "daemon/queries/control_words.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;
using enum statistics::ControlRule;

// Batches of `n` tests with these means, ten positions each: batch i begins at 10 i + 1.
std::vector<BatchPoint> batches_of(const std::vector<double>& means, double n = 10) {
  std::vector<BatchPoint> points;
  for (const double mean : means) {
    const auto i = static_cast<schema::Position>(points.size());
    points.push_back({.batch = "b" + std::to_string(i),
                      .n = n,
                      .mean = mean,
                      .sigma = 1,
                      .mean_without_bench = mean,
                      .first_position = 10 * i + 1,
                      .last_position = 10 * i + 10});
  }
  return points;
}

// A mean of ten has a standard deviation of 1.
ControlVersion version(std::int64_t number, double centre, schema::Position behind) {
  return {.version = number,
          .by = "Ada",
          .why = "settled",
          .limits = {.centre = centre, .sigma_between = std::sqrt(0.6), .sigma_inside = 2},
          .rules = statistics::kUsualRules,
          .run_length = {140, 50, 500},
          .first_batch = "b1",
          .last_batch = "b2",
          .first_position = 11,
          .last_position = 30,
          .behind_position = behind};
}

TEST(ControlTold, FrozenLimitsJudgeWhatComesBehindThemAndOnlyThat) {
  const auto points = batches_of({50, 50, 58, 50.5, 55, 50});
  const ControlTold told = control_told(points, {version(1, 50, 30)});
  EXPECT_FALSE(told.batches[0].has_limits);  // older than what they were made from
  EXPECT_TRUE(told.batches[2].has_limits);   // made from it
  EXPECT_FALSE(told.batches[2].judged);
  EXPECT_TRUE(told.batches[3].judged);
  ASSERT_EQ(told.signals_of(outside), std::vector<std::size_t>{4});
  EXPECT_NEAR(told.batches[4].sigma, 1, 1e-12);
  EXPECT_NEAR(told.batches[4].z, 5, 1e-9);
  EXPECT_TRUE(told.signals.front().above);
  EXPECT_EQ(told.run_length.low, 50);
}

TEST(ControlTold, OlderBatchesKeepTheLimitsOfTheirTime) {
  const auto points = batches_of({50, 50, 50, 54, 54, 54});
  const ControlTold told = control_told(points, {version(1, 50, 30), version(2, 54, 45)});
  EXPECT_TRUE(told.is_outside(3));
  EXPECT_TRUE(told.is_outside(4));   // begun before version 2: its first test is position 41
  EXPECT_FALSE(told.is_outside(5));  // as high, and now that is the centre
  EXPECT_EQ(told.batches[4].version, 0U);
  EXPECT_EQ(told.batches[5].version, 1U);
  EXPECT_EQ(told.batches[5].up, 0);  // the sum of version 1 is forgotten
}

TEST(ControlTold, ASmallBatchIsJudgedByWiderLimits) {
  auto points = batches_of({50, 50, 50, 53.5, 53.5});
  points[4].n = 2;
  const ControlTold told = control_told(points, {version(1, 50, 30)});
  EXPECT_TRUE(told.is_outside(3));
  EXPECT_FALSE(told.is_outside(4));
  EXPECT_NEAR(told.batches[4].sigma, std::sqrt(0.6 + 4.0 / 2), 1e-12);
}

TEST(ControlTold, ASignalIsSaidOnceWithWhereItBegan) {
  std::vector<double> means{50, 50, 50, 49.9};
  means.insert(means.end(), 12, 50.3);
  const auto points = batches_of(means);
  const ControlTold told = control_told(points, {version(1, 50, 30)});
  ASSERT_EQ(told.signals_of(one_side), std::vector<std::size_t>{12});
  EXPECT_EQ(told.signals.front().since, 4U);
  const TrendTold trend{.batches = points, .control = told};
  EXPECT_EQ(signal_words(trend, told.signals.front()),
            "Nine means in a row above the centre, since batch b4");
}

TEST(ControlTold, TestsWithoutABatchInBetweenDoNotHideWhereARunBegan) {
  std::vector<double> means{50, 50, 50, 49.9};
  means.insert(means.end(), 13, 50.3);
  auto points = batches_of(means);
  points[9].batch = kNoBatch;
  const ControlTold told = control_told(points, {version(1, 50, 30)});
  ASSERT_EQ(told.signals_of(one_side), std::vector<std::size_t>{13});
  EXPECT_EQ(told.signals.front().since, 4U);
}

TEST(ControlTold, ARunningSumNamesTheBatchItRoseFrom) {
  std::vector<double> means{50, 50, 50, 50, 50.2};
  means.insert(means.end(), 6, 48.5);
  const ControlTold told = control_told(batches_of(means), {version(1, 50, 30)});
  ASSERT_EQ(told.signals_of(running_sum).size(), 1U);
  for (const ControlSignal& signal : told.signals)
    if (signal.rule == running_sum) {
      EXPECT_EQ(signal.since, 5U);
      EXPECT_FALSE(signal.above);
    }
}

TEST(ControlTold, OnlyRulesInForceSignal) {
  ControlVersion only = version(1, 50, 30);
  only.rules = statistics::ControlRules(one_side);
  const ControlTold told = control_told(batches_of({50, 50, 50, 60}), {only});
  EXPECT_TRUE(told.signals.empty());
  EXPECT_FALSE(told.is_outside(3));
}

TEST(ControlTold, WithoutFrozenLimitsEveryBatchIsJudgedByThoseOfWhatIsShown) {
  auto points = batches_of({50, 51, 50, 51, 50, 51, 50, 51, 50, 70});
  points.push_back({.batch = kNoBatch, .n = 1, .mean = 99, .first_position = 5});
  const ControlTold told = control_told(std::span(points).first(10), {});
  EXPECT_FALSE(told.frozen());
  EXPECT_TRUE(told.batches[0].judged);
  EXPECT_TRUE(told.is_outside(9));
  EXPECT_FALSE(told.run_length.told());
  EXPECT_THAT(words_of_run_length(told), HasSubstr("fewer than 20 batches are too uncertain"));
  const ControlTold frozen = control_told(points, {version(1, 50, 30)});
  EXPECT_FALSE(frozen.batches[10].has_limits);  // tests without a batch are no batch
}

TEST(ControlTold, FewBatchesAreNotJudgedAndThatIsSaid) {
  const TrendTold trend{.batches = batches_of({50, 51, 50}),
                        .control = control_told(batches_of({50, 51, 50}), {})};
  EXPECT_FALSE(trend.control.judges());
  EXPECT_THAT(words_of_limits(trend, ""),
              HasSubstr("no batch is judged: limits need at least 10 batches"));
  EXPECT_EQ(words_of_run_length(trend.control), "");
}

TEST(ControlTold, LimitsOfWhatIsShownAreAsWideAsTheSizeOfTheBatchAsks) {
  auto points = batches_of({50, 51, 50, 51, 50, 51, 50, 51, 50, 51, 50});
  points.back().n = 1;
  const ControlTold told = control_told(points, {});
  EXPECT_GT(told.batches.back().sigma, 1.2 * told.batches.front().sigma);
}

// Twenty-four batches or more; each begins where `neighbours` of the one before it left off.
std::vector<double> made_means(double neighbours, std::size_t count, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  std::vector<double> means;
  double level = normal(random);
  for (std::size_t i = 0; i < count; ++i) {
    means.push_back(50 + level);
    level = neighbours * level + std::sqrt(1 - neighbours * neighbours) * normal(random);
  }
  return means;
}

// What really happens: limits as told hold against the same process going on.
TEST(ControlTold, NeighboursThatResembleEachOtherShortenWhatIsToldOfLimitsOfWhatIsShown) {
  constexpr double kNeighbours = 0.5;
  const ControlTold apart = control_told(batches_of(made_means(0, 400, 3)), {});
  const ControlTold alike = control_told(batches_of(made_means(kNeighbours, 2000, 3)), {});
  EXPECT_GT(apart.run_length.expected, 100);
  EXPECT_LT(apart.run_length.expected, 200);
  ASSERT_NEAR(alike.likeness, kNeighbours, 0.08);
  const double scale = 1 / alike.batches.front().sigma;  // the true standard deviation is 1
  const double truly = statistics::run_length_together(
      {.rules = alike.rules, .likeness = kNeighbours, .scale = scale, .points = 100'000});
  EXPECT_NEAR(alike.run_length.expected / truly, 1, 0.2);
}

TEST(ControlWords, SayWhoseLimitsRuleAndHowOftenTheyAreWrong) {
  ControlVersion one = version(3, 50, 30);
  one.limits.batches = 25;
  one.limits.likeness = 0.45;
  const ControlTold told = control_told(batches_of({50, 50, 50, 50}), {one});
  EXPECT_THAT(words_of_limits(TrendTold{.control = told}, "2026-11-20"),
              HasSubstr("version 3, frozen 2026-11-20 by Ada from 25 batches b1 to b2 (settled)"));
  const std::string words = words_of_run_length(told);
  EXPECT_THAT(words, HasSubstr("the 4 rules in force together signal falsely once in about 140"));
  EXPECT_THAT(words, HasSubstr("limits from 25 batches leave that open between 50 and 500"));
  EXPECT_THAT(words, HasSubstr("(correlation 0.45)"));
}

}  // namespace
}  // namespace endgate::daemon
