// analysis/curve.h, contract lines CU-1 ... CU-9.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <limits>
#include <random>
#include <vector>

#include "analysis/curve.h"

namespace endgate::analysis {
namespace {

// About a 20 mL one-cylinder unit at 50 rev/s: 60 L/min free, 40 L/min at 800 kPa gauge.
struct CurveTruth {
  double a = 1.95e-5;
  double b = 1.0e-6;
  double leak = 1.5e-6;
  double exponent = 1.25;
};

double flow_of(const CurveTruth& truth, double r, double n) {
  return n * (truth.a - truth.b * (std::pow(r, 1 / truth.exponent) - 1)) - truth.leak * (r * r - 1);
}

constexpr double kU = 2e-6;  // 0.12 L/min

std::vector<CurvePoint> points_on(const CurveTruth& truth) {
  std::vector<CurvePoint> points;
  double speed = 52;
  for (const double r : {1.02, 3.0, 5.0, 7.0, 9.0}) {
    points.push_back({r, speed, flow_of(truth, r, speed), kU * (1 + 0.1 * r)});
    speed -= 1.3;
  }
  return points;
}

LeakPrior prior_of(const CurveTruth& truth) { return {truth.leak, 0.05e-6}; }

Curve fitted(const std::vector<CurvePoint>& points, const CurveTruth& truth = {}) {
  return fit_curve(points, truth.exponent, prior_of(truth)).value();
}

FlowEstimate flow(const Curve& curve, double r) {
  return flow_at(curve, {.pressure_ratio = r, .speed_rev_s = 48}).value();
}

TEST(Curve, GivesBackTheParametersOfPointsThatLieOnIt_CU1) {
  const CurveTruth truth;
  const Curve curve = fitted(points_on(truth));
  EXPECT_NEAR(curve.a_m3 / truth.a, 1, 1e-9);
  EXPECT_NEAR(curve.b_m3 / truth.b, 1, 1e-9);
  EXPECT_NEAR(curve.leak_m3_s / truth.leak, 1, 1e-9);
  EXPECT_NEAR(flow(curve, 5).flow_m3_s, flow_of(truth, 5, 48), 1e-15);
  EXPECT_EQ(curve.degrees_of_freedom, 3);
  EXPECT_FALSE(curve.contradicted);
}

TEST(Curve, GivesThemBackWithoutAPriorToo_CU1) {
  const CurveTruth truth;
  const Curve curve = fit_curve(points_on(truth), truth.exponent, std::nullopt).value();
  EXPECT_NEAR(curve.leak_m3_s / truth.leak, 1, 1e-9);
  EXPECT_EQ(curve.degrees_of_freedom, 2);
}

TEST(Curve, TheOrderOfThePointsDoesNotMatter_CU2) {
  std::vector<CurvePoint> points = points_on({});
  points[2].flow_inlet_m3_s += kU;
  const Curve forward = fitted(points);
  std::reverse(points.begin(), points.end());
  const Curve backward = fitted(points);
  EXPECT_NEAR(backward.a_m3 / forward.a_m3, 1, 1e-9);
  EXPECT_NEAR(backward.b_m3 / forward.b_m3, 1, 1e-9);
  EXPECT_NEAR(backward.leak_m3_s / forward.leak_m3_s, 1, 1e-9);
  EXPECT_NEAR(flow(backward, 6).u_random_m3_s / flow(forward, 6).u_random_m3_s, 1, 1e-9);
}

TEST(Curve, OneFactorOnEveryUncertaintyChangesNoParameter_CU3) {
  const CurveTruth truth;
  std::vector<CurvePoint> points = points_on(truth);
  points[1].flow_inlet_m3_s += 0.5 * kU;
  const Curve once = fitted(points);
  for (CurvePoint& point : points) point.flow_u_m3_s *= 2;
  LeakPrior prior = prior_of(truth);
  prior.u_m3_s *= 2;
  const Curve twice = fit_curve(points, truth.exponent, prior).value();
  EXPECT_NEAR(twice.b_m3 / once.b_m3, 1, 1e-9);
  EXPECT_NEAR(flow(twice, 5).u_random_m3_s / flow(once, 5).u_random_m3_s, 2, 1e-9);
}

struct BadPoint {
  double CurvePoint::*field;
  double value;
  RefusalKind kind;
};

TEST(Curve, ARefusalNamesThePoint_CU4_CU5) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const BadPoint bad_points[] = {
      {&CurvePoint::pressure_ratio, nan, RefusalKind::non_finite_input},
      {&CurvePoint::flow_inlet_m3_s, nan, RefusalKind::non_finite_input},
      {&CurvePoint::speed_rev_s, HUGE_VAL, RefusalKind::non_finite_input},
      {&CurvePoint::pressure_ratio, 0.99, RefusalKind::value_out_of_domain},
      {&CurvePoint::speed_rev_s, 0, RefusalKind::value_out_of_domain},
      {&CurvePoint::flow_u_m3_s, 0, RefusalKind::value_out_of_domain},
  };
  for (const BadPoint& bad : bad_points) {
    std::vector<CurvePoint> points = points_on({});
    points[3].*bad.field = bad.value;
    const Outcome<Curve> curve = fit_curve(points, 1.25, std::nullopt);
    ASSERT_FALSE(curve.has_value());
    EXPECT_EQ(curve.error().kind, bad.kind);
    EXPECT_EQ(curve.error().index, 3u);
  }
}

TEST(Curve, RefusesWhatAllowsNoAnswer_CU4) {
  std::vector<CurvePoint> points = points_on({});
  const auto kind_of = [&](double exponent, const std::optional<LeakPrior>& prior) {
    return fit_curve(points, exponent, prior).error().kind;
  };
  EXPECT_EQ(kind_of(0.9, std::nullopt), RefusalKind::value_out_of_domain);
  EXPECT_EQ(kind_of(1.25, LeakPrior{1e-6, 0}), RefusalKind::value_out_of_domain);
  EXPECT_EQ(kind_of(1.25, LeakPrior{std::nan(""), 1}), RefusalKind::non_finite_input);
  points.resize(2);
  EXPECT_EQ(kind_of(1.25, std::nullopt), RefusalKind::too_few_points);
}

TEST(Curve, RefusesPressuresThatLieTooCloseTogether_CU4) {
  std::vector<CurvePoint> points = points_on({});
  for (CurvePoint& point : points) point.pressure_ratio = 5 + 0.01 * point.pressure_ratio;
  EXPECT_EQ(fit_curve(points, 1.25, std::nullopt).error().kind, RefusalKind::span_too_narrow);
}

TEST(Curve, TwoPressuresCannotTellThreeParameters_CU4) {
  std::vector<CurvePoint> points = points_on({});
  for (std::size_t i = 0; i < points.size(); ++i) points[i].pressure_ratio = i < 2 ? 1 : 5;
  for (CurvePoint& point : points) point.speed_rev_s = 50;
  EXPECT_EQ(fit_curve(points, 1.25, std::nullopt).error().kind, RefusalKind::singular);
}

TEST(Curve, IsNotAskedOutsideItsReachWithoutAFlag_CU6) {
  const Curve curve = fitted(points_on({}));
  EXPECT_FALSE(flow(curve, 1).extrapolated);
  EXPECT_FALSE(flow(curve, 9 * kCurveReach).extrapolated);
  const CurveQuery beyond{.pressure_ratio = 9.6, .speed_rev_s = 48};
  EXPECT_EQ(flow_at(curve, beyond).error().kind, RefusalKind::outside_fitted_range);
  CurveQuery allowed = beyond;
  allowed.allow_extrapolation = true;
  EXPECT_TRUE(flow_at(curve, allowed)->extrapolated);
}

TEST(Curve, RefusesQuestionsThatMakeNoSense_CU4) {
  const Curve curve = fitted(points_on({}));
  const auto kind_of = [&](double r, double n) {
    return flow_at(curve, {.pressure_ratio = r, .speed_rev_s = n}).error().kind;
  };
  EXPECT_EQ(kind_of(std::nan(""), 50), RefusalKind::non_finite_input);
  EXPECT_EQ(kind_of(0.5, 50), RefusalKind::value_out_of_domain);
  EXPECT_EQ(kind_of(2, 0), RefusalKind::value_out_of_domain);
}

std::vector<CurvePoint> scattered(double factor) {
  std::vector<CurvePoint> points = points_on({});
  const double sign[] = {1, -1, 1, -1, 1};
  for (std::size_t i = 0; i < points.size(); ++i)
    points[i].flow_inlet_m3_s += factor * sign[i] * points[i].flow_u_m3_s;
  return points;
}

TEST(Curve, LessScatterThanStatedNarrowsNothing_CU7) {
  const double stated = flow(fitted(scattered(0)), 5).u_random_m3_s;
  EXPECT_NEAR(flow(fitted(scattered(0.5)), 5).u_random_m3_s / stated, 1, 1e-12);
  EXPECT_NEAR(flow(fitted(scattered(1.0)), 5).u_random_m3_s / stated, 1, 1e-12);
}

TEST(Curve, ScatterThatChanceDoesNotExplainWidensIt_CU7) {
  const double stated = flow(fitted(scattered(0)), 5).u_random_m3_s;
  const Curve wide = fitted(scattered(4));
  EXPECT_NEAR(flow(wide, 5).u_random_m3_s / stated,
              std::sqrt(wide.chi_square / wide.degrees_of_freedom), 1e-9);
}

TEST(Curve, NeverHasANegativeParameter_CU8) {
  CurveTruth truth;
  truth.leak = -0.5e-6;  // the points want a negative leak, and there is no prior against it
  const Curve curve = fit_curve(points_on(truth), truth.exponent, std::nullopt).value();
  EXPECT_EQ(curve.leak_m3_s, 0);
  EXPECT_GT(curve.b_m3, 0);
  EXPECT_EQ(curve.degrees_of_freedom, 3);  // one parameter was not fitted
  EXPECT_GT(flow(curve, 5).u_random_m3_s, 0);
}

double chi_square_at(const std::vector<CurvePoint>& points, const CurveTruth& truth) {
  double chi_square = 0;
  for (const CurvePoint& p : points)
    chi_square += std::pow(
        (p.flow_inlet_m3_s - flow_of(truth, p.pressure_ratio, p.speed_rev_s)) / p.flow_u_m3_s, 2);
  return chi_square;
}

// No step along a, b or L that stays >= 0 improves the fit.
TEST(Curve, TheConstrainedFitIsTheBestThatIsAllowed_CU8) {
  for (const CurveTruth& wanted :
       {CurveTruth{1.95e-5, 1e-6, -1e-6}, CurveTruth{1.95e-5, -2e-7, 1e-6},
        CurveTruth{1.95e-5, -1e-6, -1e-6}, CurveTruth{-1e-5, 1e-6, 1e-6}}) {
    const std::vector<CurvePoint> points = points_on(wanted);
    const Curve curve = fit_curve(points, 1.25, std::nullopt).value();
    const CurveTruth best{curve.a_m3, curve.b_m3, curve.leak_m3_s};
    const double least = chi_square_at(points, best);
    EXPECT_NEAR(least, curve.chi_square, 1e-9 * (1 + least));
    for (double CurveTruth::*parameter : {&CurveTruth::a, &CurveTruth::b, &CurveTruth::leak})
      for (const double step : {-1e-9, 1e-9}) {
        CurveTruth moved = best;
        moved.*parameter = std::max(0.0, moved.*parameter + step);
        EXPECT_GE(chi_square_at(points, moved), least * (1 - 1e-12));
      }
  }
}

TEST(Curve, PointsThatContradictItAreAReason_CU9) {
  EXPECT_FALSE(fitted(scattered(1)).contradicted);
  EXPECT_TRUE(fitted(scattered(4)).contradicted);
}

TEST(Curve, AContradictedLeakTestIsAReasonToo_CU9) {
  const CurveTruth truth;
  const LeakPrior wrong{3 * truth.leak, 0.05e-6};
  EXPECT_TRUE(fit_curve(points_on(truth), truth.exponent, wrong)->contradicted);
}

TEST(Curve, WithoutASpareDegreeNothingCanContradictIt_CU9) {
  std::vector<CurvePoint> points = points_on({});
  points.resize(3);
  const Curve curve = fit_curve(points, 1.25, std::nullopt).value();
  EXPECT_EQ(curve.degrees_of_freedom, 0);
  EXPECT_FALSE(curve.contradicted);
}

// Simulation with a fixed seed: how often does flow +- 1.96 u cover the truth?
TEST(Curve, TheIntervalCoversTheTruthInNinetyFivePerCentOfTests) {
  const CurveTruth truth;
  std::mt19937_64 random(7);
  std::normal_distribution<double> normal;
  const int trials = 20000;
  int covered = 0;
  int contradicted = 0;
  for (int trial = 0; trial < trials; ++trial) {
    std::vector<CurvePoint> points = points_on(truth);
    for (CurvePoint& point : points) point.flow_inlet_m3_s += point.flow_u_m3_s * normal(random);
    LeakPrior prior = prior_of(truth);
    prior.leak_m3_s += prior.u_m3_s * normal(random);
    const Curve curve = fit_curve(points, truth.exponent, prior).value();
    const FlowEstimate at_400 = flow(curve, 5);
    covered += std::abs(at_400.flow_m3_s - flow_of(truth, 5, 48)) < 1.96 * at_400.u_random_m3_s;
    contradicted += curve.contradicted;
  }
  std::printf("covered %.2f %%, contradicted %.2f %%\n", 100.0 * covered / trials,
              100.0 * contradicted / trials);
  EXPECT_NEAR(100.0 * covered / trials, 95, 0.7);
  EXPECT_NEAR(100.0 * contradicted / trials, 1.0, 0.3);
}

}  // namespace
}  // namespace endgate::analysis
