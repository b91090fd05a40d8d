// analysis/distributions.h, contract lines DI-1 and DI-2.

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

#include "analysis/distributions.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

// Normal quantiles as printed in tables; more digits computed.
TEST(Distributions, NormalQuantilesAgreeWithTheTables) {
  EXPECT_NEAR(*normal_quantile(0.95), 1.64485, 5e-6);
  EXPECT_NEAR(*normal_quantile(0.99), 2.32635, 5e-6);
  EXPECT_NEAR(*normal_quantile(0.999), 3.09023, 5e-6);
}

TEST(Distributions, ConformanceProbabilityOfThePublishedExample) {
  const std::string path = "conformity/jcgm-106.toml";
  const auto number = [&](const char* key) {
    return judge::published_number(path, std::string("breakdown_voltage.") + key);
  };
  const double z = (number("limit_v") - number("value_v")) / number("u_v");
  EXPECT_NEAR(normal_cdf(z), number("published_conformance_probability"), 0.005);
  EXPECT_NEAR(normal_cdf(z), number("recomputed_conformance_probability"), 1e-10);
}

TEST(Distributions, RiskOnTheLimitWithAGuardBandOfTheExpandedUncertainty) {
  const std::string path = "conformity/jcgm-106.toml";
  EXPECT_NEAR(normal_cdf(-2), judge::published_number(path, "risk_on_the_limit.w_2_u"), 1e-10);
  EXPECT_NEAR(normal_cdf(-1.96), judge::published_number(path, "risk_on_the_limit.w_1_96_u"),
              1e-10);
}

// t at 99 %, nu = 16: 2.92 is printed in JCGM 100:2008 H.1 (second hand), more digits computed.
TEST(Distributions, StudentFactorOfTheEndGaugeExample) {
  EXPECT_NEAR(*student_coverage_factor(0.99, 16), 2.92078162, 1e-8);
}

// chi-square 95 % points for 1, 5, 10: 3.841, 11.070, 18.307 of every table.
TEST(Distributions, ChiSquareQuantilesAgreeWithTheTables) {
  EXPECT_NEAR(*chi_square_quantile(0.95, 1), 3.841, 5e-4);
  EXPECT_NEAR(*chi_square_quantile(0.95, 5), 11.070, 5e-4);
  EXPECT_NEAR(*chi_square_quantile(0.95, 10), 18.307, 5e-4);
  EXPECT_NEAR(*chi_square_upper_tail(*chi_square_quantile(0.99, 4), 4), 0.01, 1e-12);
}

TEST(Distributions, ImpossibleQuestionsAreRefusedAndNothingThrows_DI1) {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  for (const double probability : {0.0, 1.0, -0.1, 1.1, nan}) {
    EXPECT_FALSE(normal_quantile(probability).has_value());
    EXPECT_FALSE(student_coverage_factor(probability, 5).has_value());
    EXPECT_FALSE(chi_square_quantile(probability, 5).has_value());
  }
  for (const double degrees : {0.0, -1.0, nan}) {
    EXPECT_FALSE(student_coverage_factor(0.95, degrees).has_value());
    EXPECT_FALSE(chi_square_quantile(0.95, degrees).has_value());
    EXPECT_FALSE(chi_square_upper_tail(1, degrees).has_value());
  }
  EXPECT_FALSE(chi_square_upper_tail(-1, 3).has_value());
  EXPECT_FALSE(chi_square_upper_tail(nan, 3).has_value());
}

TEST(Distributions, TheLargestConfidenceBelowOneStillAnswers_DI2) {
  const double almost_one = std::nextafter(1.0, 0.0);
  const Outcome<double> factor = student_coverage_factor(almost_one, 4);
  ASSERT_TRUE(factor.has_value());
  EXPECT_GT(*factor, 1000);
}

}  // namespace
}  // namespace endgate::analysis
