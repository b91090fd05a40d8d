#include "analysis/statistics/capability.h"

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/statistics/distribution.h"
#include "analysis/statistics/tolerance.h"
#include "tests/analysis/judge_published.h"

namespace endgate::statistics {
namespace {

TEST(Capability, TheHandbookExampleAndBissellsInterval) {
  // NIST/SEMATECH e-Handbook 6.1.6 (from memory): L 8, U 20, mean 16, s 2.
  const Bounds bounds{8, 20};
  EXPECT_NEAR(spread_index(bounds, 2, 50).value, 1, 1e-12);
  EXPECT_NEAR(spread_index(bounds, 2, 50).interval.low, 0.8024823, 1e-6);
  EXPECT_NEAR(spread_index(bounds, 2, 50).interval.high, 1.1971259, 1e-6);
  EXPECT_NEAR(centred_index(bounds, 16, 2, 50).value, 2.0 / 3, 1e-12);
  EXPECT_NEAR(bissell(1.33, 50).low, 1.0509392416, 1e-9);  // Bissell 1990
  EXPECT_NEAR(bissell(1.33, 50).high, 1.6090607584, 1e-9);
}

TEST(Capability, OneLimitHasOnlyItsOwnSide) {
  EXPECT_NEAR(centred_index({8, std::nullopt}, 16, 2, 50).value, 4.0 / 3, 1e-12);
}

TEST(Capability, ASkewMetricIsNotAsGoodAsItsNormalFormulaSays) {
  // Log-normal, mu 0, sigma 0.4, U 4: percentile form 1.2930553, normal formula 2.1545944.
  const double high = std::exp(0.4 * normal_quantile(0.99865));
  const Percentiles x{1 / high, 1, high};
  EXPECT_NEAR(percentile_index({std::nullopt, 4}, x), 1.2930553109, 1e-9);
}

// What is expected: about + side exp(0.4 z), log-normal of skewness 1.32.
std::vector<double> skew_sample(double about, double side) {
  std::vector<double> values;
  constexpr int kValues = 1500;
  for (int i = 0; i < kValues; ++i)
    values.push_back(about + side * std::exp(0.4 * normal_quantile((i + 0.5) / kValues)));
  return values;
}

TEST(Capability, PercentilesOfSkewSamplesComeBackWhereverTheyLieAndOnBothSides) {
  const double long_side = std::exp(1.2), short_side = std::exp(-1.2);
  for (const double about : {0.0, 100.0}) {
    const Percentiles right = percentiles_of(skew_sample(about, 1));
    EXPECT_NEAR(right.low, about + short_side, 0.1) << about;
    EXPECT_NEAR(right.middle, about + 1, 0.02) << about;
    EXPECT_NEAR(right.high, about + long_side, 0.15) << about;
  }
  // Delivery with a weak tail: the room at the lower limit must not be told too large.
  const Percentiles left = percentiles_of(skew_sample(100, -1));
  EXPECT_NEAR(left.low, 100 - long_side, 0.15);
  EXPECT_NEAR(left.middle, 99, 0.02);
  EXPECT_NEAR(left.high, 100 - short_side, 0.1);
}

TEST(Tolerance, FactorsAreThoseOfThePublishedTable) {
  // Same definition as ISO 16269-6; NIST/SEMATECH e-Handbook 7.2.6.3 for n = 43.
  for (const auto& row : judge::published_rows("capability/tolerance-factors.csv")) {
    EXPECT_NEAR(tolerance_factor_one_sided(row[0], {0.95, 0.95}), row[1], 2e-5);
    EXPECT_NEAR(tolerance_factor_two_sided(row[0], {0.95, 0.95}), row[2], 2e-5);
    EXPECT_NEAR(tolerance_factor_one_sided(row[0], {0.99, 0.95}), row[4], 2e-5);
    EXPECT_NEAR(tolerance_factor_two_sided(row[0], {0.99, 0.95}), row[5], 2e-5);
  }
  EXPECT_NEAR(tolerance_factor_one_sided(43, {0.90, 0.99}), 1.87395360586, 1e-8);
}

// 59, 93 and 299 units as common tables have them.
TEST(Tolerance, ABoundByOrderNeedsAsManyUnitsAsTheTablesSay) {
  EXPECT_EQ(tolerance_rank(58, {0.95, 0.95}), 0U);
  EXPECT_EQ(tolerance_rank(59, {0.95, 0.95}), 1U);
  EXPECT_EQ(tolerance_rank(92, {0.95, 0.95}), 1U);
  EXPECT_EQ(tolerance_rank(93, {0.95, 0.95}), 2U);
  EXPECT_EQ(tolerance_rank(298, {0.99, 0.95}), 0U);
  EXPECT_EQ(tolerance_rank(299, {0.99, 0.95}), 1U);
  EXPECT_EQ(tolerance_rank(0, {0.99, 0.95}), 0U);
}

}  // namespace
}  // namespace endgate::statistics
