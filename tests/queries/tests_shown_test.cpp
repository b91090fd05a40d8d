#include "daemon/queries/tests_shown.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

TestsShown asked(const test::SmallStore& store, const TrendFilter& filter,
                 std::size_t count = 100) {
  return tests_shown(schema::StoreReader(store.folder()), filter, "fad_400", count);
}

TEST(TestsShown, AreTheNewestByPositionWithMeanAndScatterOfAll) {
  test::SmallStore store;
  store.keep({.serial = "A", .fad_400 = 8e-4});
  store.keep({.serial = "B", .fad_400 = 9e-4});
  store.keep({.serial = "C", .fad_400 = 10e-4});
  const TestsShown shown = asked(store, {.model = "P1-60-12"}, 2);
  ASSERT_EQ(shown.rows.size(), 2U);
  EXPECT_EQ(shown.rows[0].serial, "B");
  EXPECT_EQ(shown.rows[1].serial, "C");
  EXPECT_EQ(shown.matching, 3U);
  EXPECT_NEAR(shown.mean.value(), 9e-4, 1e-16);
  EXPECT_NEAR(shown.sigma.value(), 1e-4, 1e-16);
}

TEST(TestsShown, LeaveAVoidTestOutAndGiveOneTestNoScatter) {
  test::SmallStore store;
  store.keep({.serial = "A", .fad_400 = 8e-4});
  store.keep({.serial = "B", .verdict = "void", .standing = "hold"});
  const TestsShown shown = asked(store, {.model = "P1-60-12"});
  EXPECT_EQ(shown.rows.size(), 1U);
  EXPECT_EQ(shown.mean, 8e-4);
  EXPECT_FALSE(shown.sigma);
}

TEST(TestsShown, OfAnotherModelBenchOrDayAreNone) {
  test::SmallStore store;
  store.keep({.serial = "A"});
  EXPECT_TRUE(asked(store, {.model = "P1-20-12"}).rows.empty());
  EXPECT_TRUE(asked(store, {.model = "P1-60-12", .bench = "west"}).rows.empty());
  EXPECT_TRUE(asked(store, {.model = "P1-60-12", .since_utc_ms = 4102444800000}).rows.empty());
  EXPECT_EQ(asked(store, {.model = "P1-60-12"}).rows.size(), 1U);
}

}  // namespace
}  // namespace endgate::daemon
