#include "analysis/statistics/run_length.h"

#include <gtest/gtest.h>

#include "tests/analysis/judge_published.h"

namespace endgate::statistics {
namespace {

TEST(RunLength, OfTheRunningMeanAgreesWithLucasAndSaccucci) {
  // Table 3 of J. M. Lucas and M. S. Saccucci 1990 is rounded; the file has more digits.
  const double shifts[] = {0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 3.5, 4};
  for (const auto& row : judge::published_rows("charts/ewma-arl.csv"))
    for (const std::size_t i : {0U, 2U, 4U, 8U})
      EXPECT_NEAR(running_mean_run_length(row[0], row[1], shifts[i]) / row[2 + i], 1, 1e-4);
}

TEST(RunLength, OfTheRunningSumAgreesWithLucasAndCrosier) {
  const double shifts[] = {0, 0.25, 0.5, 0.75, 1, 1.5, 2, 2.5, 3, 4};
  for (const auto& row : judge::published_rows("charts/cusum-arl.csv"))
    for (std::size_t i = 0; i < std::size(shifts); ++i)
      EXPECT_NEAR(running_sum_run_length(0.5, row[0], shifts[i]) / row[1 + i], 1, 1e-4);
}

}  // namespace
}  // namespace endgate::statistics
