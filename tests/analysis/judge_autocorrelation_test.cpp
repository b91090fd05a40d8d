// analysis/autocorrelation.h, contract lines AC-1 ... AC-3.

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/autocorrelation.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

TEST(Autocorrelation, MeanOfWhiteNoiseKnowsAsMuchAsItHasSamples_AC1) {
  EXPECT_DOUBLE_EQ(*variance_factor_of_mean({10, 0}), 0.1);
  EXPECT_DOUBLE_EQ(*effective_sample_size({10, 0}), 10);
}

TEST(Autocorrelation, SamplesThatAreAllAlikeKnowAsMuchAsOne_AC1) {
  EXPECT_NEAR(*effective_sample_size({100, 1 - 1e-12}), 1, 1e-9);
}

// Values computed by two independent routes; no publication.
TEST(Autocorrelation, VarianceOfTheMeanAgreesWithWorkedValues) {
  EXPECT_NEAR(*variance_factor_of_mean({10, 0.5}), 0.2600390625, 1e-12);
  EXPECT_NEAR(*variance_factor_of_mean({100, 0.9}), 0.17200048, 1e-8);
  const double phi = phi_of(0.05, 0.25);
  EXPECT_NEAR(phi, 0.81873075, 1e-8);
  EXPECT_NEAR(*effective_sample_size({20, phi}), 2.6359961, 1e-7);
  EXPECT_NEAR(*effective_sample_size({160, phi}), 16.457771738, 1e-8);
  EXPECT_NEAR(*effective_sample_size({400, phi}), 40.368455, 1e-6);
}

TEST(Autocorrelation, NearOneTheClosedFormWouldCancelAndTheSumDoesNot_AC2) {
  // For phi = 1 - e the factor is 1 - e (n - 1/n) / 3 to first order.
  const double e = 1e-9;
  const double n = 1000;
  EXPECT_NEAR(*variance_factor_of_mean({1000, 1 - e}), 1 - e * (n - 1 / n) / 3, 1e-11);
}

TEST(Autocorrelation, NothingMeasuredIsNoAnswer_AC3) {
  EXPECT_FALSE(variance_factor_of_mean({0, 0.5}).has_value());
  EXPECT_FALSE(variance_factor_of_mean({10, 1}).has_value());
  EXPECT_FALSE(variance_factor_of_mean({10, -0.1}).has_value());
}

}  // namespace
}  // namespace endgate::analysis
