// Tests far from all others are left out, whichever of them they are.

#include "daemon/queries/far_tests.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <string>

namespace endgate::daemon {
namespace {

using testing::ElementsAre;

// Forty tests on two benches in turn, in batches of ten; `far` reads a tenth.
statistics::TestColumns forty_tests(std::size_t far) {
  statistics::TestColumns columns;
  for (std::size_t row = 0; row < 40; ++row) {
    columns.position.push_back(static_cast<std::int64_t>(row));
    columns.time_utc_ms.push_back(0);
    columns.value.push_back(row == far ? 1e-4 : 9e-4 + 1e-6 * static_cast<double>(row % 5));
    columns.u.push_back(0);
    columns.batch.add("b" + std::to_string(row / 10));
    columns.bench.add(row % 2 == 0 ? "north" : "south");
  }
  return columns;
}

TEST(FarTests, AreLeftOutAlsoWhereTheFirstTestOfABenchIsOne) {
  for (const std::size_t far : {0U, 1U, 7U}) {
    const WithoutFar without = without_far(forty_tests(far));
    EXPECT_EQ(without.far, 1U) << far;
    EXPECT_EQ(without.columns.rows(), 39U) << far;
    EXPECT_THAT(without.columns.bench.levels, ElementsAre("north", "south")) << far;
    EXPECT_EQ(without.columns.bench.of_row.back(), 1) << "the last is on south";
  }
}

TEST(FarTests, StayWhereABenchHasNoOther) {
  statistics::TestColumns columns = forty_tests(39);
  columns.bench.levels.emplace_back("east");
  columns.bench.of_row[39] = 2;
  EXPECT_EQ(without_far(columns).far, 0U);
}

}  // namespace
}  // namespace endgate::daemon
