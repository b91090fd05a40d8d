// analysis/statistics/scatter.h

#include "analysis/statistics/scatter.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

namespace endgate::statistics {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

TEST(Scatter, IsMeanAndStandardDeviationOfASample) {
  // By hand: mean 5, squares 32, n - 1 = 7.
  const std::vector<double> values{2, 4, 4, 4, 5, 5, 7, 9};
  const Scatter scatter = scatter_of(values);
  EXPECT_EQ(scatter.n, 8U);
  EXPECT_DOUBLE_EQ(scatter.mean.value(), 5);
  EXPECT_DOUBLE_EQ(scatter.sigma.value(), std::sqrt(32.0 / 7));
}

TEST(Scatter, OfOneValueHasNoSigmaAndOfNoneNoMean) {
  const std::vector<double> one{3};
  EXPECT_EQ(scatter_of(one).mean, 3);
  EXPECT_FALSE(scatter_of(one).sigma);
  EXPECT_FALSE(scatter_of({}).mean);
}

constexpr double kMiddle = 400;

// -10 to 10 about the middle and one more: median 0.5 above it, median absolute deviation 5.5; far
// begins 8 * 1.4826 * 5.5 = 65.2 above the median.
std::vector<double> spread_with(double one_more) {
  std::vector<double> values;
  for (int i = -10; i <= 10; ++i) values.push_back(kMiddle + i);
  values.push_back(kMiddle + one_more);
  return values;
}

TEST(FarValues, BeginWhereTheRobustScatterSays) {
  EXPECT_THAT(far_values(spread_with(70)), ElementsAre(21U));
  EXPECT_THAT(far_values(spread_with(60)), IsEmpty());
}

TEST(FarValues, ThatAreManyAreTheProcess) {
  std::vector<double> values = spread_with(100);
  values.push_back(kMiddle + 101);
  EXPECT_THAT(far_values(values), IsEmpty());
  EXPECT_THAT(far_values(values, {.reach = 8, .most = 0.1}), ElementsAre(21U, 22U));
}

TEST(FarValues, AreNoneAmongEqualOnes) {
  const std::vector<double> values{1, 1, 1, 1, 9};
  EXPECT_THAT(far_values(values), IsEmpty());
}

}  // namespace
}  // namespace endgate::statistics
