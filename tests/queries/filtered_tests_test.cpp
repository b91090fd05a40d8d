// What a filter must not change: which test is a unit's first, and what is a check of a bench.

#include <gtest/gtest.h>

#include "daemon/queries/batch_trend.h"
#include "daemon/queries/capability_told.h"
#include "daemon/queries/fail_causes.h"
#include "daemon/queries/lot_told.h"
#include "daemon/queries/trend_columns.h"
#include "daemon/queries/what_if.h"
#include "daemon/queries/yield_told.h"
#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

using test::BatchHistory;

constexpr const char* kModel = "P1-60-12";

class FilteredTests : public testing::Test {
 protected:
  void keep(const std::string& serial, const std::string& bench, std::int64_t attempt) {
    history_.keep(serial, "b1", bench, attempt == 1 ? "production" : "retest", attempt, 8e-4);
  }
  BatchHistory history_;
};

// "A-9" fails at each of its tests.
TEST_F(FilteredTests, ARetestOnAnotherBenchIsNoFirstTestThere) {
  keep("A-9", "north", 1);
  keep("A-9", "south", 2);
  keep("B-1", "south", 1);
  const YieldTold south = yield_of(history_.reader(), {.model = kModel, .bench = "south"});
  EXPECT_EQ(south.first_pass.of, 1);
  EXPECT_EQ(south.first_pass.count, 1);
  EXPECT_TRUE(south.reasons.empty());
  EXPECT_EQ(south.void_tests.of, 2) << "both tests of that bench were looked at";
  const YieldTold north = yield_of(history_.reader(), {.model = kModel, .bench = "north"});
  EXPECT_EQ(north.first_pass.of, 1);
  EXPECT_EQ(north.first_pass.count, 0);
  EXPECT_EQ(fail_causes_of(history_.reader(), {.model = kModel, .bench = "south"}).failed, 0);
  EXPECT_EQ(fail_causes_of(history_.reader(), {.model = kModel, .bench = "north"}).failed, 1);
}

// Batches b0, b1, b2 of one day each; b2 has reeds of lot B, and one unit of b0 has a reed of its own.
TEST_F(FilteredTests, ALotAndALastDayAskForTheirUnitsOnly) {
  history_.make({.batches = 3, .units = 4, .shift_from = 2});
  history_.enter(schema::Lots{
      .subject_kind = "unit", .subject = "b0-1", .parts = {{"reed", "B"}}, .by = "Ada"});
  const auto rows = [&](const TrendFilter& filter) {
    return columns_of(history_.reader(), filter, "fad_400").columns.rows();
  };
  EXPECT_EQ(rows({.model = kModel}), 12U);
  EXPECT_EQ(rows({.model = kModel, .lot = "B"}), 5U);
  EXPECT_EQ(rows({.model = kModel, .lot = "reed=A"}), 7U);
  EXPECT_EQ(rows({.model = kModel, .lot = "ring=A"}), 0U);
  const LotTold told = lot_told(history_.reader(), "A", "reed");
  EXPECT_EQ(told.count - told.no_longer, 7) << "asked the other way";
  EXPECT_EQ(told.passed.of, 7);
  const std::int64_t second_day = BatchHistory::kFirstDayUtcMs + BatchHistory::kDayMs;
  EXPECT_EQ(rows({.model = kModel, .before_utc_ms = second_day}), 4U);
  EXPECT_EQ(rows({.model = kModel, .since_utc_ms = second_day, .before_utc_ms = second_day + 1}),
            4U);
  const TrendFilter lot{.model = kModel, .lot = "B"};
  EXPECT_EQ(columns_of(history_.reader(), lot, "fad_400").checks.size(), 6U) << "of the bench";
  EXPECT_EQ(capability_of(history_.reader(), lot, "fad_400")->values.size(), 5U);
  EXPECT_EQ(yield_of(history_.reader(), lot).first_pass.of, 5);
  EXPECT_EQ(what_if(history_.reader(), lot, {.metric = "fad_400", .lower = 7e-4})->changed.of, 5);
  EXPECT_EQ(batch_trend(history_.reader(), lot, "fad_400").size(), 2U);
}

TEST_F(FilteredTests, ReferenceUnitsStayChecksWhenEveryPurposeIsAsked) {
  history_.make({.batches = 3, .units = 4});
  const MetricColumns production = columns_of(history_.reader(), {.model = kModel}, "fad_400");
  const MetricColumns all =
      columns_of(history_.reader(), {.model = kModel, .purpose = ""}, "fad_400");
  EXPECT_EQ(all.columns.rows(), production.columns.rows());
  EXPECT_EQ(all.checks.size(), production.checks.size());
  EXPECT_EQ(all.checks.size(), 6U);
  const MetricColumns asked =
      columns_of(history_.reader(), {.model = kModel, .purpose = "reference"}, "fad_400");
  EXPECT_EQ(asked.columns.rows(), 6U);
}

}  // namespace
}  // namespace endgate::daemon
