#include "analysis/statistics/change_point.h"

#include <gtest/gtest.h>

#include "analysis/statistics/false_discovery.h"
#include "analysis/statistics/proportion.h"
#include "tests/analysis/judge_published.h"

namespace endgate::statistics {
namespace {

std::vector<double> nile() {  // annual flow at Aswan, Cobb 1978
  std::vector<double> values;
  for (const auto& row : judge::published_rows("changepoint/nile.csv")) values.push_back(row[1]);
  return values;
}

TEST(ChangePoint, ThePartitionFindsTheOneChangeOfTheNileIn1898AndNoOther) {
  EXPECT_EQ(changes(nile()), (std::vector<std::size_t>{28}));
  EXPECT_EQ(changes(nile(), {.penalty = 9.2103}), (std::vector<std::size_t>{28}));
  // The published figure takes 1.4826 for the exact constant.
  EXPECT_NEAR(sigma_from_differences(nile()) * 1.4826 / 1.482602218505602, 115.319216517, 1e-6);
}

TEST(ChangePoint, ShortAndConstantSeriesHaveNone) {
  EXPECT_TRUE(changes(std::vector<double>(7, 1.0)).empty());
  EXPECT_TRUE(changes(std::vector<double>(40, 1.0)).empty());
}

TEST(FalseDiscovery, TheFifteenValuesOfBenjaminiAndHochberg) {
  const auto rows = judge::published_rows("attribution/bh-1995.csv");
  std::vector<double> p;
  for (const auto& row : rows) p.push_back(row[0]);
  const auto adjusted = adjusted_for_many(p);
  for (std::size_t i = 0; i < rows.size(); ++i) EXPECT_NEAR(adjusted[i], rows[i][1], 1e-6);
}

TEST(Proportion, TheIntervalOfWilson) {
  // Calculated independently (R).
  EXPECT_NEAR(wilson(12, 400).low, 0.0172430210, 1e-9);
  EXPECT_NEAR(wilson(12, 400).high, 0.0516985357, 1e-9);
}

}  // namespace
}  // namespace endgate::statistics
