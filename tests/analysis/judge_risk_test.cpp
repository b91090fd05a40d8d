// What do the guard bands of analysis/grade.h promise?  Published and worked figures of
// fixtures/published/conformity, the bands taken from the rule itself, and a simulation.

#include <gtest/gtest.h>

#include <cmath>
#include <cstdio>
#include <random>

#include "analysis/distributions.h"
#include "analysis/grade.h"
#include "analysis/sum.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

const std::string kFile = "conformity/jcgm-106.toml";

double risk_number(const std::string& key) { return judge::published_number(kFile, key); }

Metric measured(double value, double u) {
  Metric metric;
  metric.id = "current_600";
  metric.value = value;
  metric.u = u;
  return metric;
}

Limit limit_of(std::optional<double> lower, std::optional<double> upper, double factor) {
  Limit limit;
  limit.metric = "current_600";
  limit.lower = lower;
  limit.upper = upper;
  limit.pass_factor = limit.fail_factor = factor;
  return limit;
}

struct Production {
  double mean = 0;
  double sd = 0;
  double u = 0;
};

// Integral over the true value, in steps of a hundredth of its spread, by Simpson's rule.
template <class Weight>
double integral(const Production& p, double from, double to, Weight weight) {
  const std::size_t steps = 4000;
  const double h = (to - from) / static_cast<double>(steps);
  const auto density = [&](double eta) {
    const double z = (eta - p.mean) / p.sd;
    return std::exp(-0.5 * z * z) / (p.sd * std::sqrt(2 * std::acos(-1.0)));
  };
  return h / 3 * sum_over(steps + 1, [&](std::size_t i) {
           const double eta = from + h * static_cast<double>(i);
           const double simpson = i == 0 || i == steps ? 1 : i % 2 == 1 ? 4 : 2;
           return simpson * density(eta) * weight(eta);
         });
}

// P(pass | true value), with the band as the rule makes it.
double pass_probability(const Production& p, const Limit& limit, double eta) {
  const double w = hold_against(measured(eta, p.u), limit).pass_band;
  const double below_upper = limit.upper ? normal_cdf((*limit.upper - w - eta) / p.u) : 1;
  const double below_lower = limit.lower ? normal_cdf((*limit.lower + w - eta) / p.u) : 0;
  return std::max(0.0, below_upper - below_lower);
}

TEST(Risk, OfAProductionWithOneLimitAgreesWithWorkedValues) {
  const Production p{risk_number("production.y0"), risk_number("production.u0"),
                     risk_number("production.u")};
  const double lower = risk_number("production.lower");
  const auto bands = judge::published_numbers(kFile, "production.guard_bands");
  const auto consumer = judge::published_numbers(kFile, "production.consumer_risks");
  const auto producer = judge::published_numbers(kFile, "production.producer_risks");
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Limit limit = limit_of(lower, std::nullopt, bands[i] / p.u);
    const auto pass = [&](double eta) { return pass_probability(p, limit, eta); };
    const double r_c = integral(p, lower - 6 * p.sd, lower, pass);
    const double r_p = integral(p, lower, 8 * p.sd, [&](double eta) { return 1 - pass(eta); });
    EXPECT_NEAR(r_c / consumer[i], 1, 1e-6) << "w " << bands[i];
    EXPECT_NEAR(r_p / producer[i], 1, 1e-6) << "w " << bands[i];
  }
}

TEST(Risk, OfAProductionWithTwoLimitsAgreesWithWorkedValues) {
  const Production p{0, risk_number("two_sided.u0"), risk_number("two_sided.u")};
  const double bound = risk_number("two_sided.bound");
  const auto bands = judge::published_numbers(kFile, "two_sided.guard_bands");
  const auto consumer = judge::published_numbers(kFile, "two_sided.consumer_risks");
  const auto producer = judge::published_numbers(kFile, "two_sided.producer_risks");
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const Limit limit = limit_of(-bound, bound, bands[i] / p.u);
    const auto pass = [&](double eta) { return pass_probability(p, limit, eta); };
    const double r_c = 2 * integral(p, bound, bound + 8 * p.sd, pass);
    const double r_p = integral(p, -bound, bound, [&](double eta) { return 1 - pass(eta); });
    EXPECT_NEAR(r_c / consumer[i], 1, 1e-6) << "w " << bands[i];
    EXPECT_NEAR(r_p / producer[i], 1, 1e-6) << "w " << bands[i];
  }
}

struct Share {
  double pass = 0;
  double fail = 0;
  double undecided = 0;
};

// `draw` gives the true value of the next unit; the measurement error is drawn here.
template <class Draw>
Share simulated(std::mt19937_64& random, double u, const Limit& limit, int tests, Draw draw) {
  std::normal_distribution<double> error(0, u);
  Share share;
  for (int i = 0; i < tests; ++i) {
    const double truth = draw();
    const Verdict verdict = hold_against(measured(truth + error(random), u), limit).verdict;
    (verdict == Verdict::pass   ? share.pass
     : verdict == Verdict::fail ? share.fail
                                : share.undecided) += 1.0 / tests;
  }
  return share;
}

TEST(Risk, AUnitExactlyOnItsLimitPassesInFivePerCentOfTestsAndFailsInFive) {
  std::mt19937_64 random(1645);
  const int tests = 40000;
  const Limit limit = limit_of(-5, std::nullopt, 1.645);
  const Share share = simulated(random, 0.6, limit, tests, [] { return -5.0; });
  std::printf("on the limit: pass %.2f %%, fail %.2f %%, undecided %.2f %%\n", 100 * share.pass,
              100 * share.fail, 100 * share.undecided);
  const double four_sigma = 4 * std::sqrt(0.05 * 0.95 / tests);
  EXPECT_NEAR(share.pass, 0.05, four_sigma);
  EXPECT_NEAR(share.fail, 0.05, four_sigma);
}

TEST(Risk, ThreeOutcomesOfAProductionAgreeWithWorkedValues) {
  std::mt19937_64 random(987);
  const int tests = 40000;
  const Production p{risk_number("production.y0"), risk_number("production.u0"),
                     risk_number("production.u")};
  const Limit limit = limit_of(risk_number("production.lower"), std::nullopt, 0.987 / p.u);
  std::normal_distribution<double> unit(p.mean, p.sd);
  const Share share = simulated(random, p.u, limit, tests, [&] { return unit(random); });
  const auto expect = [&](double found, const std::string& key) {
    const double wanted = risk_number("three_outcomes." + key);
    EXPECT_NEAR(found, wanted, 4 * std::sqrt(wanted * (1 - wanted) / tests)) << key;
  };
  expect(share.pass, "pass");
  expect(share.fail, "fail");
  expect(share.undecided, "undecided");
}

}  // namespace
}  // namespace endgate::analysis
