#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "analysis/steady_window.h"
#include "analysis/window_moments.h"
#include "tests/analysis/measure_published.h"

namespace endgate::analysis {
namespace {

using published::number;
using published::numbers;

Column column_of(int count, double period_s, double (*value)(double)) {
  Column column;
  for (int i = 0; i < count; ++i) {
    column.time_s.push_back(i * period_s);
    column.value.push_back(value(i * period_s));
  }
  return column;
}

std::vector<double> even(int count, double period_s) {
  return column_of(count, period_s, [](double t) { return t; }).time_s;
}

TEST(WindowMoments, TheMeanOfCorrelatedNoiseHasThePublishedVariance) {
  for (std::size_t i = 0; i < 2; ++i) {
    const int count = static_cast<int>(numbers("correlated_mean.count")[i]);
    const std::vector<double> flat(static_cast<std::size_t>(count), 1.0 / count);
    const double tau = -1 / std::log(numbers("correlated_mean.phi")[i]);
    EXPECT_NEAR(combination_variance(even(count, 1), flat, tau),
                numbers("correlated_mean.variance")[i], 1e-8);
  }
}

TEST(WindowMoments, TheSlopeOfWhiteNoiseHasThePublishedSpread) {
  const std::vector<double> time = even(501, 1e-3);
  EXPECT_NEAR(100 * std::sqrt(combination_variance(time, slope_weights(time), 0)),
              number("slope.sd_pa_s"), 1e-6);
}

TEST(WindowMoments, AFirstOrderLagIsUndoneInARamp) {
  const Column late = column_of(201, 0.02, [](double t) { return 5 + 3 * (t - 0.25); });
  const Moments moments = *moments_in(late, {0, 4.0}, {}, 0.25);
  EXPECT_NEAR(moments.slope_s, 3, 1e-12);
  EXPECT_NEAR(moments.mean, 5 + 3 * 2.0, 1e-2);
}

// The weight of the mean is the one that makes balances exact: mean of dM/dt = slope of M.
TEST(WindowMoments, TheMeanOfADerivativeIsTheSlopeOfItsIntegral) {
  const Column rate = column_of(1001, 0.004, [](double t) { return std::exp(-t); });
  const Column stored = column_of(1001, 0.004, [](double t) { return 1 - std::exp(-t); });
  EXPECT_NEAR(moments_in(rate, {0, 4}, {}, 0)->mean, moments_in(stored, {0, 4}, {}, 0)->slope_s,
              5e-4);
}

TEST(WindowMoments, ANoisyUnitIsNotWellKnown) {
  std::mt19937 random(1);
  std::normal_distribution<double> gauss;
  Column column;
  for (int i = 0; i < 200; ++i) {
    column.time_s.push_back(i * 0.02);
    column.value.push_back(3 * gauss(random));
  }
  const Moments moments = *moments_in(column, {0, 4}, {.sigma_si = 1}, 0);
  EXPECT_NEAR(moments.u_mean, 3 * std::sqrt(1.2 / 200), 0.1 * 3 * std::sqrt(1.2 / 200));
}

TEST(WindowMoments, ACoarseStepIsNotCertainty) {
  const Column stuck = column_of(200, 0.02, [](double) { return 7.0; });
  const Moments moments = *moments_in(stuck, {0, 4}, {.resolution_si = 2}, 0);
  EXPECT_NEAR(moments.u_mean, 2 / std::sqrt(12.0), 1e-12);
}

TEST(WindowMoments, ASlowChannelGivesItsValueAtTheMiddle) {
  const Column slow = column_of(4, 10, [](double t) { return t; });
  EXPECT_DOUBLE_EQ(moments_in(slow, {11, 13}, {.sigma_si = 0.1}, 0)->mean, 12);
  EXPECT_FALSE(moments_in(Column{}, {11, 13}, {}, 0));
}

SteadyRule rule() { return {}; }

TEST(SteadyWindow, StartsWhenTheGasHasSettled) {
  StepMark step;
  step.start_us = 10'000'000;
  step.ready_us = 12'000'000;
  step.end_us = 20'000'000;
  const Window window = *settled_stretch(step, 10'000'000, rule());
  EXPECT_DOUBLE_EQ(window.start_s, 6);
  EXPECT_DOUBLE_EQ(window.end_s, 10);
  step.end_us = 17'000'000;
  EXPECT_FALSE(settled_stretch(step, 10'000'000, rule()));
  step.ready_us.reset();
  EXPECT_EQ(settled_stretch(step, 10'000'000, rule()).error().detail,
            "the set point was never reached");
}

TEST(SteadyWindow, HoldsWholeTurnsOfTheCrank) {
  const Window window = whole_turns({0, 1.0}, 2.5);
  EXPECT_DOUBLE_EQ(window.length_s(), 0.8);
  EXPECT_DOUBLE_EQ(window.end_s, 1.0);
  EXPECT_DOUBLE_EQ(whole_turns({0, 1.0}, 0).length_s(), 1.0);
}

TEST(SteadyWindow, TakesTheLaterPartWhenTheWholeDrifts) {
  const Column settling =
      column_of(400, 0.02, [](double t) { return 1 + 0.03 * std::exp(-t / 1.5); });
  const SteadyStretch stretch = *steady_stretch({0, 8}, settling, {}, rule());
  EXPECT_GT(stretch.window.start_s, 1.5);
  EXPECT_DOUBLE_EQ(stretch.window.end_s, 8);
}

TEST(SteadyWindow, RefusesADriftWithItsSize) {
  const Column drifting = column_of(400, 0.02, [](double t) { return 1 + 0.01 * t; });
  const auto refused = steady_stretch({0, 8}, drifting, {}, rule());
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.error().kind, RefusalKind::not_steady);
  EXPECT_NE(refused.error().detail.find("7.69 %"), std::string::npos) << refused.error().detail;
}

// A test that takes correlated noise for white would call most of these moving.
TEST(SteadyWindow, CallsCorrelatedNoiseSteady) {
  std::mt19937 random(7);
  std::normal_distribution<double> gauss;
  const double phi = std::exp(-0.02 / 0.2);
  int refused = 0;
  for (int run = 0; run < 300; ++run) {
    Column column;
    double noise = gauss(random);
    for (int i = 0; i < 200; ++i) {
      column.time_s.push_back(i * 0.02);
      column.value.push_back(1 + 0.002 * noise);
      noise = phi * noise + std::sqrt(1 - phi * phi) * gauss(random);
    }
    if (!steady_stretch({0, 4}, column, {.sigma_si = 0.002, .correlation_s = 0.2}, rule()))
      ++refused;
  }
  EXPECT_LE(refused, 12);
}

}  // namespace
}  // namespace endgate::analysis
