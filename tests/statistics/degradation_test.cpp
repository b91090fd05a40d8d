// Paths of single units and the time to a limit: worked example, coverage, what cannot be told.

#include "analysis/statistics/degradation.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

namespace endgate::statistics {
namespace {

// Hours and loss of delivery in per cent of six units, invented; every figure was calculated apart
// in another language.
std::vector<MeasuredAt> worn() {
  return {{200, 1.1}, {400, 1.9}, {550, 2.4}, {800, 3.9}, {1000, 4.2}, {1300, 6.1}};
}

TEST(Degradation, TheWorkedLine) {
  const auto path = degradation_of(worn());
  ASSERT_TRUE(path);
  EXPECT_EQ(path->form, PathForm::straight);
  EXPECT_NEAR(path->start, 0.1073492, 1e-7);
  EXPECT_NEAR(path->slope, 0.00446021, 1e-8);
  EXPECT_NEAR(path->scatter, 0.2545680, 1e-7);
  EXPECT_NEAR(path->value_at(900), 4.1215408, 1e-7);
  EXPECT_NEAR(path->line_at(900).high - path->value_at(900), 0.3249357, 1e-6);
  EXPECT_TRUE(path->moves());
}

TEST(Degradation, TheTimeToALimitIsTheSetOfTimesThePointsAllow) {
  const TimeToLimit time = time_to_limit(*degradation_of(worn()), 8);
  EXPECT_NEAR(*time.time, 1769.56818, 1e-4);
  EXPECT_NEAR(time.not_before, 1600.71685, 1e-4);
  EXPECT_NEAR(*time.not_after, 2005.29597, 1e-4);
}

TEST(Degradation, ALineThatCannotBeToldFromLevelHasNoUpperEnd) {
  const std::vector<MeasuredAt> level{{0, 10.0},   {10, 10.1}, {20, 9.9},
                                      {30, 10.05}, {40, 9.98}, {50, 10.02}};
  const auto path = degradation_of(level);
  ASSERT_TRUE(path);
  EXPECT_FALSE(path->moves());
  const TimeToLimit time = time_to_limit(*path, 9);
  EXPECT_FALSE(time.not_after);
  EXPECT_GT(time.not_before, 50) << "the limit is far, so at least it is not reached soon";
  EXPECT_EQ(time_to_limit(*path, 10.0).not_before, 0);
}

TEST(Degradation, BentPathsTakeTheFormThatFits) {
  std::vector<MeasuredAt> runs_in, wears;
  for (int i = 0; i <= 12; ++i) {
    const double t = 10.0 * i, noise = 0.01 * ((i * 7) % 5 - 2);
    runs_in.push_back({t, 50 - 0.5 * std::sqrt(t) + noise});
    wears.push_back({t, 50 - 0.0004 * t * t + noise});
  }
  EXPECT_EQ(degradation_of(runs_in)->form, PathForm::root);
  const auto path = degradation_of(wears);
  EXPECT_EQ(path->form, PathForm::square);
  EXPECT_NEAR(*time_to_limit(*path, 42).time, std::sqrt(8 / 0.0004), 3);
}

TEST(Degradation, FewTimesNoScatterAndNoSimpleFormAreRefused) {
  EXPECT_FALSE(degradation_of(std::vector<MeasuredAt>{{0, 1}, {0, 2}, {1, 2}, {2, 3}, {3, 4.1}}));
  std::vector<MeasuredAt> exact, waves;
  for (int i = 0; i < 30; ++i) {
    exact.push_back({1.0 * i, 3.0});
    waves.push_back({1.0 * i, i < 15 ? 1.0 * i : 30.0 - i});
  }
  EXPECT_FALSE(degradation_of(exact));
  EXPECT_FALSE(degradation_of(waves));
}

// 300 units whose line is known: the set holds the true time in about 95 of 100.
TEST(Degradation, TheIntervalHoldsTheTruthAboutAsOftenAsItSays) {
  int held = 0, made = 0;
  for (unsigned seed = 1; seed <= 300; ++seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0, 0.3);
    std::vector<MeasuredAt> points;
    for (int i = 0; i < 8; ++i) points.push_back({50.0 * i, 48 - 0.01 * 50 * i + normal(random)});
    const auto path = degradation_of(points);
    if (!path || path->form != PathForm::straight) continue;
    const TimeToLimit time = time_to_limit(*path, 42);
    ++made;
    held += time.not_before <= 600 && (!time.not_after || 600 <= *time.not_after);
  }
  EXPECT_GT(made, 270) << "a straight line is taken for bent in 5 of 100";
  EXPECT_GE(held, 0.92 * made);
  EXPECT_LE(held, 0.985 * made);
}

}  // namespace
}  // namespace endgate::statistics
