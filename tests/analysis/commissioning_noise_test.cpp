#include "analysis/commissioning_noise.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "analysis/health_noise.h"

namespace endgate::analysis {
namespace {

constexpr double kNoiseSigma = 60;
constexpr double kNoiseTau_s = 0.05;
constexpr double kNoiseGap_s = 0.016;

ChannelFacts noisy_pressure() {
  ChannelFacts facts;
  facts.id = "discharge_pressure";
  facts.role = Role::discharge_pressure;
  facts.range_min_si = -50000;
  facts.range_max_si = 1250000;
  facts.period_s = kNoiseGap_s;
  return facts;
}

struct MadeNoise {
  double sigma = kNoiseSigma;
  double tau_s = kNoiseTau_s;
  double level = 0;
  double drift_s = 0;
  double step = 0;  // of the count
};

// A second and a half at rest, as the zero step of one test.
struct OneTest {
  ChannelFacts facts;
  Samples samples;
  RawTrace trace;
};
OneTest noisy_test_of(const MadeNoise& made, unsigned seed) {
  OneTest test{noisy_pressure(), {}, {}};
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  const double phi = made.tau_s > 0 ? std::exp(-kNoiseGap_s / made.tau_s) : 0;
  double noise = made.sigma * normal(random);
  for (int i = 0; i < 94; ++i) {
    const double t = i * kNoiseGap_s;
    double value = made.level + made.drift_s * t + noise;
    if (made.step > 0) value = made.step * std::round(value / made.step);
    test.samples.column.time_s.push_back(t);
    test.samples.column.value.push_back(std::max(value, test.facts.range_min_si));
    noise = phi * noise + made.sigma * std::sqrt(1 - phi * phi) * normal(random);
  }
  StepMark zero;
  zero.kind = StepKind::zero;
  zero.end_us = 1504000;
  test.trace.steps = {zero};
  return test;
}

std::vector<NoiseSums> noisy_tests_of(const MadeNoise& made, unsigned first, unsigned count) {
  std::vector<NoiseSums> sums;
  for (unsigned seed = first; seed < first + count; ++seed) {
    OneTest test = noisy_test_of(made, seed);
    test.samples.facts = &test.facts;
    sums.push_back(noise_sums(test.samples, test.trace));
  }
  return sums;
}

TEST(CommissioningNoise, LearnsSigmaAndCorrelationTimeFromManyShortRests) {
  const LearnedNoise learned = *learn_noise(noisy_tests_of({}, 1, 200), 0);
  EXPECT_EQ(learned.tests, 200);
  EXPECT_NEAR(learned.sigma_si.value / kNoiseSigma, 1, 0.03);
  EXPECT_NEAR(learned.correlation_s.value / kNoiseTau_s, 1, 0.08);
  EXPECT_FALSE(learned.sigma_si.contradicts(kNoiseSigma));
  EXPECT_FALSE(learned.correlation_s.contradicts(kNoiseTau_s));
}

TEST(CommissioningNoise, ItsIntervalHoldsTheTruthAsOftenAsItSays) {
  constexpr unsigned kTimes = 200;
  int sigma = 0, correlation = 0;
  for (unsigned i = 0; i < kTimes; ++i) {
    const LearnedNoise learned = *learn_noise(noisy_tests_of({}, 1000 + 20 * i, 20), 0);
    sigma += learned.sigma_si.low <= kNoiseSigma && kNoiseSigma <= learned.sigma_si.high ? 1 : 0;
    correlation +=
        learned.correlation_s.low <= kNoiseTau_s && kNoiseTau_s <= learned.correlation_s.high ? 1
                                                                                              : 0;
  }
  RecordProperty("sigma", sigma);
  RecordProperty("correlation", correlation);
  EXPECT_GE(sigma, 0.88 * kTimes);
  EXPECT_GE(correlation, 0.88 * kTimes);
}

TEST(CommissioningNoise, LevelDriftAndTheStepOfTheCountAreNoNoise) {
  const MadeNoise made{.level = 600000, .drift_s = -2000, .step = 40};
  const LearnedNoise learned = *learn_noise(noisy_tests_of(made, 1, 200), 40);
  EXPECT_NEAR(learned.sigma_si.value / kNoiseSigma, 1, 0.03);
  EXPECT_NEAR(learned.correlation_s.value / kNoiseTau_s, 1, 0.1);
}

TEST(CommissioningNoise, SaysWhereTheStatedNoiseIsAnother) {
  const LearnedNoise learned = *learn_noise(noisy_tests_of({.sigma = 90}, 1, 60), 0);
  EXPECT_TRUE(learned.sigma_si.contradicts(kNoiseSigma));
  EXPECT_TRUE(learned.sigma_si.contradicts(0));
  EXPECT_FALSE(learned.sigma_si.contradicts(95)) << "a few per cent are not worth saying";
}

TEST(CommissioningNoise, NoiseWithoutAMemoryAgreesWithAStatedNone) {
  for (const unsigned seed : {1U, 101U, 201U, 301U}) {
    for (const unsigned tests : {30U, 60U}) {
      const LearnedNoise learned = *learn_noise(noisy_tests_of({.tau_s = 0}, seed, tests), 0);
      EXPECT_EQ(learned.correlation_s.low, 0);
      EXPECT_FALSE(learned.correlation_s.contradicts(0)) << seed << " " << tests;
      EXPECT_TRUE(learned.correlation_s.contradicts(kNoiseTau_s)) << seed << " " << tests;
      EXPECT_NEAR(learned.sigma_si.value / kNoiseSigma, 1, 0.04);
    }
  }
}

TEST(CommissioningNoise, RefusesFewTestsAndChannelsAtTheEndOfTheirRange) {
  const auto few = learn_noise(noisy_tests_of({}, 1, kLeastTests - 1), 0);
  ASSERT_FALSE(few);
  EXPECT_EQ(few.error().kind, RefusalKind::too_few_points);
  const auto cut = learn_noise(noisy_tests_of({.level = -50000}, 1, 20), 0);
  ASSERT_FALSE(cut);
  EXPECT_NE(cut.error().detail.find("end of its range"), std::string::npos);
  const auto slow = learn_noise(noisy_tests_of({.tau_s = 30}, 1, 20), 0);
  ASSERT_FALSE(slow);
  EXPECT_NE(slow.error().detail.find("shorter than its correlation time"), std::string::npos);
  const auto faint = learn_noise(noisy_tests_of({.sigma = 8, .step = 20}, 1, 20), 20);
  EXPECT_FALSE(faint) << "less than half a count: most of it is the rounding";
  const auto still = learn_noise(noisy_tests_of({.sigma = 0, .step = 20}, 1, 20), 20);
  EXPECT_FALSE(still);
}

}  // namespace
}  // namespace endgate::analysis
