#include "daemon/queries/metric_trend.h"

#include <gtest/gtest.h>

#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

std::optional<MetricTrend> asked(const test::SmallStore& store, const std::string& model,
                                 const std::string& metric, std::size_t count = 100) {
  return trend_of(schema::StoreReader(store.folder()), model, metric, count);
}

TEST(MetricTrend, GoesByPositionWithMeanAndScatterOfTheNewest) {
  test::SmallStore store;
  store.keep({.serial = "A", .fad_400 = 5e-4});
  store.keep({.serial = "B", .fad_400 = 8e-4});
  store.keep({.serial = "C", .fad_400 = 10e-4});
  const auto trend = asked(store, "P1-60-12", "fad_400", 2);
  ASSERT_TRUE(trend);
  ASSERT_EQ(trend->rows.size(), 2U);
  EXPECT_EQ(trend->rows[0].serial, "B");
  EXPECT_EQ(trend->rows[1].serial, "C");
  EXPECT_NEAR(trend->mean_si.value(), 9e-4, 1e-16);
  EXPECT_NEAR(trend->sigma_si.value(), std::sqrt(2.0) * 1e-4, 1e-16);
  EXPECT_EQ(trend->metric->display_unit, "L/min");
}

TEST(MetricTrend, AVoidTestCountsForNothingAndOneTestHasNoScatter) {
  test::SmallStore store;
  store.keep({.serial = "A", .fad_400 = 8e-4});
  store.keep({.serial = "B", .verdict = "void", .standing = "hold"});
  const auto trend = asked(store, "P1-60-12", "fad_400");
  EXPECT_EQ(trend->valued, 1U);
  EXPECT_EQ(trend->mean_si, 8e-4);
  EXPECT_FALSE(trend->sigma_si);
}

TEST(MetricTrend, OfAnotherModelIsEmptyAndOfAnUnknownMetricIsNone) {
  test::SmallStore store;
  store.keep({.serial = "A"});
  EXPECT_TRUE(asked(store, "P1-20-12", "fad_400")->rows.empty());
  EXPECT_FALSE(asked(store, "P1-60-12", "fad_401"));
}

}  // namespace
}  // namespace endgate::daemon
