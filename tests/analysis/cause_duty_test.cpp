// Duty against closed forms and a long run.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/duty.h"

namespace endgate::analysis {
namespace {

constexpr double kMinute = 60;
constexpr HeatingCurve kDutyUnit{
    .final_rise_k = 130, .tau_heating_s = 25 * kMinute, .tau_cooling_s = 40 * kMinute};
constexpr HeatingCurve kEqualTau{
    .final_rise_k = 130, .tau_heating_s = 25 * kMinute, .tau_cooling_s = 25 * kMinute};

// Figures worked out apart from this code, by iteration over cycles.
TEST(Duty, PeakOfThePeriodicStateAgreesWithIteratedCycles) {
  EXPECT_NEAR(peak_rise_k(kDutyUnit, {30 * kMinute, 30 * kMinute}), 105.91350, 1e-5);
  EXPECT_NEAR(peak_rise_k(kDutyUnit, {5 * kMinute, 5 * kMinute}), 84.927298, 1e-6);
  EXPECT_NEAR(peak_rise_k(kEqualTau, {30 * kMinute, 30 * kMinute}), 99.90822, 1e-5);
}

TEST(Duty, LongestRunFromColdEndsAtTheLimit) {
  ASSERT_TRUE(longest_on_s(kDutyUnit, 100));
  EXPECT_NEAR(*longest_on_s(kDutyUnit, 100) / kMinute, 36.658427, 1e-6);
  EXPECT_FALSE(longest_on_s(kDutyUnit, 131)) << "it never gets that warm";
}

TEST(Duty, FactorDependsOnTheLengthOfTheCycle) {
  EXPECT_NEAR(largest_duty_factor(kDutyUnit, 100, 10 * kMinute), 0.63620, 1e-5);
  EXPECT_NEAR(largest_duty_factor(kDutyUnit, 100, 60 * kMinute), 0.44214, 1e-5);
  EXPECT_EQ(largest_duty_factor(kDutyUnit, 130, 60 * kMinute), 1);
}

// Euler's rule over fifty cycles in steps of half a second.
TEST(Duty, LongRunStaysBelowTheLimitAtTheLargestFactorAndCrossesItAtMore) {
  const auto highest = [](double share) {
    double rise = 0, most = 0;
    for (double t = 0; t < 50 * 3600; t += 0.5) {
      const bool on = std::fmod(t, 3600) < share * 3600;
      rise += 0.5 * (on ? (kDutyUnit.final_rise_k - rise) / kDutyUnit.tau_heating_s
                        : -rise / kDutyUnit.tau_cooling_s);
      most = std::max(most, rise);
    }
    return most;
  };
  const double share = largest_duty_factor(kDutyUnit, 100, 3600);
  EXPECT_NEAR(highest(share), 100, 0.05);
  EXPECT_GT(highest(share + 0.02), 100.5);
}

// Common practice, no source: half an hour on and half an hour off, repeated, does not reach the
// cut-out of a one-cylinder unit.  With equal time constants of 25 min the rise may then be 130 K.
TEST(Duty, HalfHoursKeepAOneCylinderUnitBelowItsCutOut) {
  EXPECT_LT(peak_rise_k(kEqualTau, {30 * kMinute, 30 * kMinute}), 100);
}

}  // namespace
}  // namespace endgate::analysis
