// Are summaries of batches those that plain sorting and summing give?

#include "analysis/statistics/batch_summary.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

namespace endgate::statistics {
namespace {

TEST(ValuesOfRank, AreExactlyWhatSortingGives_BS1) {
  std::mt19937 random(21);
  std::normal_distribution<double> normal(8e-4, 2e-5);
  for (const std::size_t n : {1, 2, 3, 5, 64, 500, 1001}) {
    std::vector<double> values;
    for (std::size_t i = 0; i < n; ++i) values.push_back(normal(random));
    if (n > 3) values[1] = values[0], values[2] = 1e-3 * values[0];
    std::vector<double> sorted = values;
    std::ranges::sort(sorted);
    std::vector<std::size_t> ranks(n);
    for (std::size_t i = 0; i < n; ++i) ranks[i] = i;
    EXPECT_EQ(values_of_rank(values, ranks), sorted) << n;
  }
}

TEST(ValuesOfRank, StandEqualTinyAndHugeValues) {
  const std::vector<std::vector<double>> columns = {
      {3, 3, 3}, {0, 5e-324, 0}, {-1.5e308, 1.5e308, 0}, {-2, -1, -3}};
  const std::vector<std::size_t> ranks = {0, 1, 2};
  for (const auto& column : columns) {
    std::vector<double> sorted = column;
    std::ranges::sort(sorted);
    EXPECT_EQ(values_of_rank(column, ranks), sorted);
  }
}

TEST(BatchSummaries, JoinTheStretchesOfABatchAndRunOnFromOneToTheNext) {
  BatchSummaries summaries(0.5);
  summaries.add("a", std::vector<double>{1, 3});
  summaries.add("b", std::vector<double>{10});
  summaries.add("a", std::vector<double>{5});
  const auto found = summaries.finish();
  ASSERT_EQ(found.size(), 2U);
  EXPECT_EQ(found[0].batch, "a");
  EXPECT_EQ(found[0].n, 3U);
  EXPECT_DOUBLE_EQ(found[0].mean, 3);
  EXPECT_DOUBLE_EQ(found[0].sigma, 2);
  EXPECT_EQ(found[0].p1, 1);
  EXPECT_EQ(found[0].p50, 3);
  EXPECT_EQ(found[0].p99, 5);
  // 1, 2, 6 behind the 10, then 5.5
  EXPECT_DOUBLE_EQ(found[1].running_mean, 6);
  EXPECT_DOUBLE_EQ(found[0].running_mean, 5.5);
  EXPECT_EQ(found[1].sigma, 0);
}

}  // namespace
}  // namespace endgate::statistics
