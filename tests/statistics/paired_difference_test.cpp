// Two instruments on the same subjects: against the published example.

#include "analysis/statistics/paired_difference.h"

#include <gtest/gtest.h>

#include <vector>

namespace endgate::statistics {
namespace {

// Peak expiratory flow by two meters, L/min, first readings (Bland and Altman 1986; data from
// memory, the published results below come out of them).
std::vector<OnBoth> meters() {
  const double large[] = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                          433, 417, 656, 267, 478, 178, 423, 427};
  const double mini[] = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                         445, 432, 626, 260, 477, 259, 350, 451};
  std::vector<OnBoth> both;
  for (std::size_t i = 0; i < std::size(large); ++i) both.push_back({mini[i], large[i]});
  return both;
}

TEST(PairedDifference, ThePublishedMeters) {
  const auto found = paired_difference(meters(), std::nullopt);
  ASSERT_TRUE(found);
  EXPECT_NEAR(found->mean, -2.1, 0.05);
  EXPECT_NEAR(found->sigma, 38.8, 0.05);
  EXPECT_NEAR(found->mean_95.low, -22.0, 0.15);  // published as -22.0 to 17.8
  EXPECT_NEAR(found->mean_95.high, 17.8, 0.15);
  EXPECT_NEAR(found->single_95.high, 73.9, 0.3);  // with 1.96; the paper takes 2 and prints 75.5
  EXPECT_FALSE(found->differ());
  EXPECT_FALSE(found->unlike_p);
}

TEST(PairedDifference, AgreementIsShownNotAssumed) {
  EXPECT_FALSE(paired_difference(meters(), 10)->alike()) << "no difference seen shows nothing";
  EXPECT_TRUE(paired_difference(meters(), 25)->alike());
  // t = (20 - 2.118)/(38.765/sqrt 17) = 1.902 on 16: one-sided 0.0377 (calculated).
  EXPECT_NEAR(*paired_difference(meters(), 20)->unlike_p, 0.0377, 5e-4);
  EXPECT_GT(*paired_difference(meters(), 1)->unlike_p, 0.5);
}

TEST(PairedDifference, ABenchThatDiffersByAFactorHasASlope) {
  std::vector<OnBoth> units;
  for (int i = 0; i < 10; ++i) units.push_back({40.0 + i, 1.02 * (40.0 + i) + 0.001 * (i % 3)});
  const auto found = paired_difference(units, std::nullopt);
  EXPECT_NEAR(found->slope, 0.02 / 1.01, 2e-4);
  EXPECT_LT(found->slope_p, 1e-6);
  EXPECT_TRUE(found->differ());
}

TEST(PairedDifference, FewUnitsAndDifferencesThatAreAlikeAreRefused) {
  EXPECT_FALSE(paired_difference(std::vector<OnBoth>{{1, 2}, {2, 3.5}}, 1));
  EXPECT_FALSE(paired_difference(std::vector<OnBoth>{{1, 2}, {2, 3}, {3, 4}}, 1));
}

}  // namespace
}  // namespace endgate::statistics
