// How often is the rule of analysis/advise.h wrong, looking again and again at correlated noise?
//
// A hold whose flow noise has the correlation time of the bench, a look every kLook_s from the
// least dwell to the longest; the first look that is certain ends it.

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "analysis/advise.h"

namespace endgate::analysis {
namespace {

constexpr double kPeriod_s = 0.016;
constexpr double kCorrelation_s = 0.2;
constexpr double kSigma = 0.012;  // of one sample, relative to the level 1
constexpr double kSystematic = 0.004;
constexpr double kLeast_s = 1;
constexpr double kLongest_s = 8;

struct Ending {
  bool pass = false;
  bool fail = false;
  double dwell_s = kLongest_s;
};

Limit lower_limit() {
  Limit limit;
  limit.lower = 1;
  return limit;
}

class Hold {
 public:
  Hold(double truth, unsigned seed) : truth_(truth), random_(seed), sums_(0) {
    noise_ = kSigma * white_(random_);
  }

  // To its end by the rule.
  Ending run() {
    const SampleNoise noise{kSigma, kCorrelation_s, 0};
    double next_look = kLeast_s;
    for (double t = kPeriod_s; t < kLongest_s; t += kPeriod_s) {
      sums_.add(t, next_value());
      if (t < next_look) continue;
      next_look += kLook_s;
      const Moments now = sums_.moments(t, noise, 0).value();
      const Standpoint point{now.mean, now.u_mean, kSystematic};
      if (certainty_of(point, lower_limit()) != Certainty::certain) continue;
      return {now.mean > 1, now.mean < 1, t};
    }
    return {};
  }

 private:
  double next_value() {
    const double phi = std::exp(-kPeriod_s / kCorrelation_s);
    noise_ = phi * noise_ + kSigma * std::sqrt(1 - phi * phi) * white_(random_);
    return truth_ + noise_;
  }

  double truth_;
  std::mt19937 random_;
  std::normal_distribution<double> white_;
  DwellSums sums_;
  double noise_;
};

struct Rates {
  double pass = 0, fail = 0, dwell_s = 0;
};

Rates rates_at(double truth, int tests) {
  Rates rates;
  for (int i = 0; i < tests; ++i) {
    const Ending ending = Hold(truth, static_cast<unsigned>(1 + i)).run();
    rates.pass += ending.pass;
    rates.fail += ending.fail;
    rates.dwell_s += ending.dwell_s;
  }
  return {rates.pass / tests, rates.fail / tests, rates.dwell_s / tests};
}

// Where an infinite dwell would just pass: the bound moved by the systematic guard band.
constexpr double kAcceptance = 1 + 1.645 * kSystematic;

// 2,000 tests: three standard deviations of a rate of 4 % are 1.3 %.
TEST(AdviceRates, CallsAUnitOnItsAcceptanceLimitCertainInFewTests) {
  const Rates rates = rates_at(kAcceptance, 2000);
  EXPECT_LT(rates.pass, 0.05);
  EXPECT_EQ(rates.fail, 0);
}

TEST(AdviceRates, HardlyEverCallsAUnitOnItsBoundCertain) {
  const Rates rates = rates_at(1, 2000);
  EXPECT_LT(rates.pass, 0.002);
  EXPECT_LT(rates.fail, 0.002);
}

TEST(AdviceRates, EndsAtOnceForAUnitFarFromItsLimit) {
  const Rates rates = rates_at(1.06, 500);
  EXPECT_EQ(rates.pass, 1);
  EXPECT_LT(rates.dwell_s, 1.3);
}

TEST(AdviceRates, EndsAtOnceForAUnitThatCertainlyFails) {
  const Rates rates = rates_at(0.94, 500);
  EXPECT_EQ(rates.fail, 1);
  EXPECT_LT(rates.dwell_s, 1.3);
}

TEST(AdviceRates, CallsNothingCertainWhileSystematicUncertaintyRules) {
  EXPECT_EQ(certainty_of({1.0, 0.0001, 0.004}, lower_limit()), Certainty::never);
  EXPECT_EQ(certainty_of({1.0066, 0.002, 0.004}, lower_limit()), Certainty::open);
  EXPECT_EQ(certainty_of({1.05, 0.002, 0.004}, lower_limit()), Certainty::certain);
  EXPECT_EQ(certainty_of({0.95, 0.002, 0.004}, lower_limit()), Certainty::certain);
}

// G-3 of analysis/grade.h: with both bands relaxed the bound is T + w alone, here T - 3 u.
TEST(AdviceRates, RelaxedBandsThatOverlapLeaveOneBound) {
  Limit limit = lower_limit();
  limit.pass_factor = limit.fail_factor = -3;
  const double bound = 1 - 3 * 0.004;
  EXPECT_EQ(certainty_of({bound, 0.0004, 0.004}, limit), Certainty::open);
  EXPECT_EQ(certainty_of({bound + 0.002, 0.0004, 0.004}, limit), Certainty::certain);
  EXPECT_EQ(certainty_of({bound - 0.002, 0.0004, 0.004}, limit), Certainty::certain);
}

TEST(AdviceRates, NeedsBothBoundsButOneBrokenIsEnough) {
  Limit limit = lower_limit();
  limit.upper = 1.1;
  EXPECT_EQ(certainty_of({1.05, 0.001, 0.004}, limit), Certainty::certain);
  EXPECT_EQ(certainty_of({1.1, 0.001, 0.004}, limit), Certainty::never);
  EXPECT_EQ(certainty_of({1.2, 0.001, 0.004}, limit), Certainty::certain);
}

}  // namespace
}  // namespace endgate::analysis
