// Amplitudes, noise and drifts of the made motors: engineering judgement, no source.

#include "analysis/ripple_speed.h"

#include <gtest/gtest.h>

#include "tests/analysis/ripple_made.h"

namespace endgate::analysis {
namespace {

using ripple_made::Motor;

constexpr double kSpeedRate = 8000;
constexpr std::size_t kSpeedSamples = 4000;
constexpr RippleExpectation kTwelve{12, 28, 62};

RippleSpeed measured(const Motor& motor, std::uint64_t seed, std::size_t samples = kSpeedSamples) {
  std::mt19937_64 random(seed);
  RippleExpectation expected = kTwelve;
  expected.commutations_per_rev = motor.commutations;
  return ripple_speed(ripple_made::waveform(motor, kSpeedRate, samples, random), kSpeedRate,
                      expected)
      .value();
}

// Kay, 1993, the single-line bound (from memory; W3 and W4 of it: 5.5132890e-3 and 6.2375749e-3
// Hz).
double bound_hz(double rate, std::size_t samples, double amplitude, double noise) {
  const auto n = static_cast<double>(samples);
  const double eta = amplitude * amplitude / (2 * noise * noise);
  const double two_pi = 2 * std::numbers::pi;
  return std::sqrt(12 * rate * rate / (two_pi * two_pi * eta * n * (n * n - 1)));
}

TEST(RippleSpectrum, PlacesALineBetweenItsBins) {
  // cos(2 pi 52.3 t + 0.3), 1000 samples at 1 kHz: the ratio form gives 52.2999997 (computed).
  std::vector<double> samples(1000);
  for (std::size_t i = 0; i < samples.size(); ++i)
    samples[i] = std::cos(2 * std::numbers::pi * 52.3 * static_cast<double>(i) / 1000 + 0.3);
  const RippleSpectrum spectrum = ripple_spectrum(samples, 1000, 100);
  double strongest = 0, at = 0;
  for (const SpectrumPeak& peak : spectrum.peaks)
    if (peak.power_to_floor > strongest) strongest = peak.power_to_floor, at = peak.position_bins;
  EXPECT_NEAR(at * spectrum.bin_hz, 52.2999997, 2e-6);
}

TEST(RippleSpeed, ScattersAsTheCramerRaoBoundAllowsAndAsItSays) {
  EXPECT_NEAR(bound_hz(1e4, 10000, std::sqrt(2.0), 1), 5.5132890e-3, 1e-9);
  Motor motor;
  motor.within_turn_rel = 0;
  motor.once_a = motor.twice_a = 0.2;
  // Lines add their information: order squared times amplitude squared.
  const double strength = std::sqrt(0.04 + 4 * 0.04 + 144 * 0.09 + 576 * 0.09 * 0.09);
  const double bound = bound_hz(kSpeedRate, kSpeedSamples, strength, motor.noise_a);
  double square = 0, stated = 0;
  constexpr int kRuns = 60;
  for (int run = 0; run < kRuns; ++run) {
    const RippleSpeed got = measured(motor, 100 + static_cast<std::uint64_t>(run));
    square += std::pow(got.speed_rev_s - motor.speed_rev_s, 2) / kRuns;
    stated += got.u_rev_s / kRuns;
  }
  EXPECT_NEAR(std::sqrt(square) / bound, 1, 0.3);  // three standard deviations of 60 runs
  EXPECT_NEAR(stated / bound, 1, 0.1);
}

TEST(RippleSpeed, OfLocksStatedSureHardlyOneIsFalse_RS1) {
  std::mt19937_64 random(20261);
  int sure = 0, wrong = 0;
  for (int run = 0; run < 120; ++run) {
    const Motor motor = ripple_made::any_motor(random);
    const RippleSpeed got = measured(motor, random());
    if (!got.trusted()) continue;
    ++sure;
    if (std::abs(got.speed_rev_s / motor.speed_rev_s - 1) > 0.002) ++wrong;
  }
  EXPECT_GT(sure, 30);
  EXPECT_LE(wrong, 1);
}

TEST(RippleSpeed, IsNeverSureOfNoise_RS1) {
  Motor motor;
  motor.once_a = motor.twice_a = motor.commutation_a = 0;
  for (std::uint64_t seed = 1; seed <= 20; ++seed) EXPECT_FALSE(measured(motor, seed).trusted());
}

TEST(RippleSpeed, GivesTheMeanOfASpeedThatDrifts) {
  Motor motor;
  motor.drift_rev_s2 = 0.4;
  motor.noise_a = 0.02;
  const RippleSpeed got = measured(motor, 3);
  EXPECT_TRUE(got.trusted());
  EXPECT_NEAR(got.speed_rev_s, motor.speed_rev_s, 1e-3);
  EXPECT_NEAR(got.drift_rev_s2, 0.4, 0.02);
}

TEST(RippleSpeed, IsNotPulledByAStrangerBesideAnEmptyOrder) {
  Motor motor;
  motor.stranger_a = 1;
  motor.stranger_hz = 8.02 * motor.speed_rev_s;  // half a bin beside order 8
  const RippleSpeed got = measured(motor, 7);
  EXPECT_TRUE(got.trusted());
  EXPECT_NEAR(got.speed_rev_s, motor.speed_rev_s, 4 * got.u_rev_s);
}

TEST(RippleSpeed, ShowsUnevenCommutatorBars) {
  Motor even, uneven;
  uneven.uneven_a = 0.1;  // five orders, 5 ... 9
  even.noise_a = uneven.noise_a = 0.05;
  even.within_turn_rel = uneven.within_turn_rel = 0;
  EXPECT_LT(commutator_irregularity(measured(even, 4)).value().value, 0.02);
  EXPECT_NEAR(commutator_irregularity(measured(uneven, 4)).value().value, std::sqrt(5) / 3, 0.02);
}

TEST(RippleSpeed, ShowsADeadCylinderOfATwin) {
  Motor equal, dead;
  equal.once_a = 0.02;
  equal.twice_a = 1;
  dead.once_a = 2;
  dead.twice_a = 0.5;
  EXPECT_LT(cylinder_imbalance(measured(equal, 5)).value().value, 0.1);
  EXPECT_GT(cylinder_imbalance(measured(dead, 5)).value().value, 2);
}

TEST(RippleSpeed, KnowsItsRatiosAsWellAsItSays) {
  Motor motor;
  motor.once_a = 0.3;
  motor.twice_a = 1;
  motor.uneven_a = 0.1;
  motor.within_turn_rel = 0;
  double balance = 0, irregular = 0;
  constexpr int kRuns = 40;
  for (unsigned seed = 0; seed < kRuns; ++seed) {
    const RippleSpeed got = measured(motor, 100 + seed);
    const RippleRatio once = cylinder_imbalance(got).value();
    const RippleRatio uneven = commutator_irregularity(got).value();
    balance += std::pow((once.value - 0.3) / once.u, 2) / kRuns;
    irregular += std::pow((uneven.value - std::sqrt(5) / 3) / uneven.u, 2) / kRuns;
  }
  // chi-squared of 40: 22 to 64 in 99 of 100; both ways 1.6 for what the fit of a drift adds.
  EXPECT_GT(balance, 0.4);
  EXPECT_LT(balance, 1.8);
  EXPECT_GT(irregular, 0.4);
  EXPECT_LT(irregular, 1.8);
}

TEST(RippleSpeed, RefusesWhatCannotBeAnswered_RS2) {
  std::vector<double> samples(kSpeedSamples, 1.0);
  EXPECT_EQ(ripple_speed(std::span(samples).first(500), kSpeedRate, kTwelve).error().kind,
            RefusalKind::too_few_points);
  EXPECT_EQ(ripple_speed(samples, 1500, kTwelve).error().kind, RefusalKind::span_too_narrow);
  EXPECT_EQ(ripple_speed(samples, kSpeedRate, {0, 28, 62}).error().kind,
            RefusalKind::value_out_of_domain);
  samples[7] = std::nan("");
  const auto refused = ripple_speed(samples, kSpeedRate, kTwelve);
  ASSERT_TRUE(refused.has_error());
  EXPECT_EQ(refused.error().kind, RefusalKind::non_finite_input);
  EXPECT_EQ(refused.error().index, 7u);
}

TEST(RippleSpeed, TrustsNothingInACurrentThatNeverMoves_RS1) {
  const std::vector<double> flat(kSpeedSamples, 3.0);
  const auto got = ripple_speed(flat, kSpeedRate, kTwelve);
  EXPECT_TRUE(got.has_error() || !got.value().trusted());
}

}  // namespace
}  // namespace endgate::analysis
