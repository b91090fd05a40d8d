#include "analysis/statistics/control_chart.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/analysis/judge_published.h"

namespace endgate::statistics {
namespace {

std::vector<double> column(const std::string& path, std::size_t index) {
  std::vector<double> values;
  for (const auto& row : judge::published_rows(path)) values.push_back(row.at(index));
  return values;
}

TEST(ControlChart, ConstantsAreThoseOfThePublishedTable) {
  // Definitions of ISO 7870-2; columns n, d2, d3, c4, A2, A3, B3, B4.
  for (const auto& row : judge::published_rows("charts/constants.csv")) {
    EXPECT_NEAR(d2(static_cast<int>(row[0])), row[1], 2e-6);
    EXPECT_NEAR(c4(row[0]), row[3], 2e-6);
  }
}

TEST(ControlChart, IndividualsAgreeWithTheHandbookExample) {
  // NIST/SEMATECH e-Handbook 6.3.2.2, with the exact d2.
  const auto limits = individuals_limits(column("charts/nist-individuals.csv", 0));
  ASSERT_TRUE(limits);
  EXPECT_NEAR(limits->upper, 55.80241168005054, 1e-9);
  EXPECT_NEAR(limits->lower, 45.817588319949465, 1e-9);
}

TEST(ControlChart, LimitsFromInsideBatchesCallAnOrdinaryBatchAnAlarmAndBatchMeansDoNot) {
  // Dyestuff, Davies 1947: six batch means.
  const std::vector<double> means{1505, 1528, 1564, 1498, 1600, 1470};
  const auto limits = individuals_limits(means);
  EXPECT_LT(1600, limits->upper);
  EXPECT_GT(1600, 1527.5 + 3 * std::sqrt(2451.25 / 5));
}

TEST(ControlChart, RunningMeanAgreesWithTheHandbookExample) {
  // NIST/SEMATECH e-Handbook 6.3.2.4: printed limits 52.5884, 47.4115.
  const auto values = column("charts/nist-ewma.csv", 0);
  const RunningMean z = running_mean(values, 50, 2.0539, 0.3, 3);
  const auto expected = judge::published_numbers("charts/nist-ewma.toml", "ewma");
  for (std::size_t i = 0; i < values.size(); ++i)
    EXPECT_NEAR(z.mean[i], expected[i + 1], 6e-5) << i;
  EXPECT_NEAR(50 + z.half_width.back(), 52.588431738126616, 2e-4);
  EXPECT_NEAR(running_mean(values, 0, 1, 0.1, 2.814).half_width[1],
              2.814 * std::sqrt(0.1 * 0.1 + 0.09 * 0.09), 1e-12);
}

TEST(ControlChart, RunningSumAgreesWithTheHandbookExample) {
  // NIST/SEMATECH e-Handbook 6.3.2.3, target 325, k 0.3175, h 4.1959: signal in row 14.
  const auto rows = judge::published_rows("charts/nist-cusum.csv");
  const RunningSum sum = running_sum(column("charts/nist-cusum.csv", 0), 325, 1, 0.3175, 4.1959);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    EXPECT_NEAR(sum.up[i], rows[i][1], 1e-9);
    EXPECT_NEAR(sum.down[i], rows[i][2], 1e-9);
  }
  EXPECT_EQ(sum.first_signal, 13U);
}

TEST(ControlChart, NoScatterHasNoLimits) {
  EXPECT_FALSE(individuals_limits(std::vector<double>{1}));
  EXPECT_FALSE(individuals_limits(std::vector<double>{1, 1, 1}));
}

}  // namespace
}  // namespace endgate::statistics
