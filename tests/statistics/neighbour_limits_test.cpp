#include "analysis/statistics/neighbour_limits.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>
#include <vector>

#include "analysis/statistics/control_chart.h"

namespace endgate::statistics {
namespace {

std::vector<BatchMoments> batches_made(std::size_t count, double between, double inside,
                                       unsigned seed) {
  std::mt19937 bits(seed);
  std::normal_distribution<double> normal(0, 1);
  std::vector<BatchMoments> batches;
  for (std::size_t i = 0; i < count; ++i) {
    const double n = i % 4 == 3 ? 1 : 19;
    const double mean = 50 + between * normal(bits) + inside / std::sqrt(n) * normal(bits);
    batches.push_back({n, mean, n > 1 ? inside : 0});
  }
  return batches;
}

TEST(NeighbourLimits, OfBatchesOfOneSizeAreThoseOfAnIndividualsChart) {
  std::vector<BatchMoments> batches;
  std::vector<double> means;
  for (const double mean : {50.0, 51.5, 49.0, 50.5, 52.0, 48.5, 50.0, 51.0, 49.5, 50.2}) {
    batches.push_back({10, mean, 0.5});
    means.push_back(mean);
  }
  const auto limits = neighbour_limits(batches);
  const auto individuals = individuals_limits(means);
  ASSERT_TRUE(limits && individuals);
  EXPECT_NEAR(limits->sigma_of_mean(10), individuals->sigma, 1e-12);
  EXPECT_NEAR(limits->centre, individuals->centre, 1e-12);
}

TEST(NeighbourLimits, AMeanOfOneUnitHasTheLimitsOfOneUnit) {
  const auto limits = neighbour_limits(batches_made(4000, 0.3, 1.0, 5));
  ASSERT_TRUE(limits);
  EXPECT_NEAR(limits->sigma_of_mean(19), std::sqrt(0.09 + 1.0 / 19), 0.03);
  EXPECT_NEAR(limits->sigma_of_mean(1), std::sqrt(0.09 + 1.0), 0.05);
}

// What 3 standard deviations promise, 2.7 in 1000, for large and small batches alike.
TEST(NeighbourLimits, LargeAndSmallBatchesAreOutsideAsSeldom) {
  const auto batches = batches_made(40'000, 0.3, 1.0, 6);
  const auto limits = neighbour_limits(batches);
  int outside[2] = {0, 0}, count[2] = {0, 0};
  for (const BatchMoments& batch : batches) {
    const int small = batch.n < 2 ? 1 : 0;
    ++count[small];
    outside[small] += std::abs(batch.mean - limits->centre) > 3 * limits->sigma_of_mean(batch.n);
  }
  for (const int small : {0, 1})
    EXPECT_NEAR(static_cast<double>(outside[small]) / count[small], 0.0027, 0.0022) << small;
}

TEST(NeighbourLimits, FewBatchesHaveNone) {
  EXPECT_FALSE(neighbour_limits(batches_made(kFewestShownBatches - 1, 0.3, 1, 7)));
  EXPECT_TRUE(neighbour_limits(batches_made(kFewestShownBatches, 0.3, 1, 7)));
  EXPECT_FALSE(neighbour_limits(std::vector<BatchMoments>(12, {1, 50, 0}))) << "no scatter";
}

}  // namespace
}  // namespace endgate::statistics
