// analysis/sum.h, contract lines SU-1 ... SU-3.

#include <gtest/gtest.h>

#include <cstring>
#include <limits>
#include <random>
#include <vector>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

std::vector<double> noisy_values(std::size_t count) {
  std::mt19937_64 random(20261125);
  std::normal_distribution<double> normal(1e5, 3);
  std::vector<double> values(count);
  for (double& value : values) value = normal(random);
  return values;
}

TEST(Sum, TheSameValuesAtEightAddressesGiveTheSameBits_SU1) {
  const std::vector<double> values = noisy_values(1001);
  const double expected = sum_of(values);
  for (std::size_t shift = 0; shift < 8; ++shift) {
    std::vector<double> moved(shift);
    moved.insert(moved.end(), values.begin(), values.end());
    EXPECT_EQ(sum_of(std::span(moved).subspan(shift)), expected) << "shifted by " << shift;
  }
}

// The example that Kahan's sum gets wrong and Neumaier's gets right (from memory).
TEST(Sum, LargeTermsThatCancelLeaveTheSmallOnes_SU2) {
  const std::vector<double> values{1.0, 1e100, 1.0, -1e100};
  EXPECT_EQ(sum_of(values), 2.0);
}

TEST(Sum, TenThousandTenthsAreAThousand_SU2) {
  EXPECT_EQ(sum_of(std::vector<double>(10000, 0.1)), 1000.0);
}

TEST(Sum, AnInfiniteTermGivesInfinityAndNotNaN) {
  const double infinity = std::numeric_limits<double>::infinity();
  EXPECT_EQ(sum_of(std::vector<double>{1, infinity, 2}), infinity);
}

TEST(Sum, TheSumOfNothingIsZeroAndItsMeanIsMissing_SU3) {
  EXPECT_EQ(sum_of({}), 0);
  EXPECT_FALSE(mean_of({}).has_value());
}

TEST(Sum, TheSumOfTermsIsTheSumOfTheirValues) {
  const std::vector<double> values = noisy_values(100);
  EXPECT_EQ(sum_over(values.size(), [&](std::size_t i) { return values[i]; }), sum_of(values));
  EXPECT_EQ(*mean_of(values), sum_of(values) / 100);
}

}  // namespace
}  // namespace endgate::analysis
