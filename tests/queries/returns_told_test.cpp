// Which units came back after how long, and what their birth records say of it.

#include "daemon/queries/returns_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "daemon/queries/returns_words.h"
#include "daemon/queries/tests_shown.h"
#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

// Twelve batches of ten units, a batch a day; every tenth unit fails and is never released.
class Returns : public testing::Test {
 protected:
  Returns() { history_.make({.batches = 12, .units = 10}); }

  schema::Position back(const std::string& serial, std::optional<double> months, int after_days) {
    return history_.enter(schema::ReturnIntake{
        .serial = serial,
        .complaint = "weak",
        .months_in_use = months,
        .by = "Cy",
        .at = {.utc_ms =
                   test::BatchHistory::kFirstDayUtcMs + after_days * test::BatchHistory::kDayMs}});
  }
  [[nodiscard]] ReturnsTold told(TrendFilter filter = {.model = "P1-60-12"}) const {
    return returns_of(history_.reader(), std::move(filter));
  }
  [[nodiscard]] std::vector<TestRow> shown() {
    return tests_shown(history_.reader(), {.model = "P1-60-12", .purpose = ""}, "fad_400", 1000)
        .rows;
  }

  test::BatchHistory history_;
};

TEST_F(Returns, EveryReleasedUnitCountsTheOthersAreCensoredAtTheirAge) {
  back("b0-1", 6, 365);
  const ReturnsTold all = told();
  EXPECT_EQ(all.back.of, 108);
  EXPECT_EQ(all.back.count, 1);
  ASSERT_EQ(all.steps.size(), 1U);
  EXPECT_EQ(all.steps[0].time, 6);
  EXPECT_EQ(all.steps[0].at_risk, 108);
  EXPECT_NEAR(all.steps[0].share, 107.0 / 108, 1e-12);
  EXPECT_NEAR(all.oldest_months, 365 / (365.25 / 12), 1e-9) << "as of the newest thing kept";
}

TEST_F(Returns, ATimeThatIsMissingOrCannotBeRightIsCountedAndLeftOut) {
  back("b0-1", std::nullopt, 365);
  back("b0-2", 40, 365);
  back("b0-3", 0, 365);
  const ReturnsTold all = told();
  EXPECT_EQ(all.back.count, 3);
  EXPECT_EQ(all.not_stated, 1);
  EXPECT_EQ(all.too_long, 1);
  EXPECT_EQ(all.timed(), 1);
  EXPECT_EQ(all.lives.size(), 106U);
  EXPECT_EQ(all.steps.front().time, 0.5);
}

TEST_F(Returns, AWithdrawnIntakeIsNoReturnAndOnlyTheFirstOfAUnitCounts) {
  const schema::Position mistaken = back("b0-1", 3, 365);
  back("b0-2", 4, 365);
  back("b0-2", 9, 366);
  back("b0-9", 9, 366);  // failed, was never released
  history_.enter(schema::Withdrawal{.withdrawn = mistaken, .why = "b1-1", .by = "Cy"});
  const ReturnsTold all = told();
  EXPECT_EQ(all.back.count, 1);
  EXPECT_EQ(all.steps.front().time, 4);
}

TEST_F(Returns, AUnitThatComesBackWithoutAPassedTestIsToldAndCountsNowhere) {
  history_.keep("b0-9", "b0", "north", "returned", 2, 7e-4);
  const ReturnsTold all = told();
  EXPECT_EQ(all.never_passed, 1);
  EXPECT_EQ(all.back.count, 0);
  EXPECT_THAT(left_out_words(all),
              HasSubstr("1 more unit of this model came back without a passed test"));
}

TEST_F(Returns, AUnitThatCameBackUnpassedIsNotBornByTheTestAfterItsRepair) {
  history_.keep("Old-1", "", "north", "returned", 1, 7e-4);
  history_.keep("Old-1", "", "north", "retest", 2, 8e-4);
  history_.enter(schema::ReturnIntake{.serial = "Old-2", .by = "Cy"});
  history_.keep("Old-2", "", "north", "retest", 1, 8e-4);
  const ReturnsTold all = told();
  EXPECT_EQ(all.never_passed, 2);
  EXPECT_EQ(all.back.of, 108);
}

TEST_F(Returns, WithoutTheirTimesSharesAreSaidFromAboveOnly) {
  for (int i = 0; i < 9; ++i) back("b" + std::to_string(i) + "-1", 3 + i, 365);
  back("b9-1", std::nullopt, 365);
  EXPECT_FALSE(told().times_lack()) << "a tenth";
  EXPECT_THAT(left_out_words(told()),
              HasSubstr("Of 1 return the time in use is not stated; left out of all times. So more "
                        "came back than the table"));
  EXPECT_THAT(out_words(told(), 6), HasSubstr(" to "));
  back("b9-2", std::nullopt, 365);
  const ReturnsTold lacking = told();
  EXPECT_TRUE(lacking.times_lack());
  EXPECT_FALSE(lacking.form);
  EXPECT_THAT(out_words(lacking, 6), testing::StartsWith("at most 96.2 %; too many times"));
}

TEST_F(Returns, TheFilterIsAboutBirths) {
  back("b0-1", 6, 365);
  back("b1-2", 6, 365);
  const ReturnsTold batch = told({.model = "P1-60-12", .batch = "b1"});
  EXPECT_EQ(batch.back.of, 9);
  EXPECT_EQ(batch.back.count, 1);
  EXPECT_EQ(told({.model = "P1-60-12", .bench = "south"}).back.count, 1);
}

TEST_F(Returns, FewReturnsTellNothingOfMetrics) {
  for (int i = 0; i < 9; ++i) back("b" + std::to_string(i) + "-1", 2 + i % 5, 365);
  const ReturnsTold few = told();
  EXPECT_TRUE(few.metrics.empty());
  EXPECT_TRUE(few.form);
  EXPECT_THAT(metrics_words(few), HasSubstr("none can be told with 9 returns"));
  EXPECT_THAT(form_words(few), HasSubstr("Few returns make the shape too large."));
}

// The weakest unit of each batch comes back early, of every third batch the second weakest.
TEST_F(Returns, AMetricThatTellsIsFoundAndOneThatDoesNotIsNot) {
  const auto weak_of = [&](const std::string& batch, std::size_t rank) {
    std::vector<std::pair<double, std::string>> units;
    for (const TestRow& row : shown())
      if (row.batch == batch && row.verdict == "pass") units.emplace_back(*row.value, row.serial);
    std::ranges::sort(units);
    return units[rank].second;
  };
  for (int i = 0; i < 12; ++i)
    back(weak_of("b" + std::to_string(i), i % 3 == 2 ? 1 : 0), 2 + i % 7, 365);
  const ReturnsTold weak = told();
  ASSERT_EQ(weak.metrics.size(), 1U);
  EXPECT_TRUE(weak.metrics[0].told());
  EXPECT_EQ(weak.metrics[0].back, 12);
  EXPECT_LT(weak.metrics[0].step.ratio_95().high, 0.6) << "a strong unit comes back less often";
  EXPECT_THAT(metrics_words(weak), HasSubstr("1 of 1 birth metrics tell"));
  EXPECT_THAT(words_of(weak).back(), HasSubstr("at most is expected to be chance"));
}

// From batch 8 on all are weaker, and only of these anybody entered what came back.
TEST(ReturnsOverTheCalendar, AMetricThatMovedFromBatchToBatchDoesNotSeemToTell) {
  test::BatchHistory history;
  history.make({.batches = 14, .units = 10, .product_shift = -0.05});
  for (int i = 0; i < 12; ++i)
    history.enter(schema::ReturnIntake{
        .serial = "b" + std::to_string(8 + i / 2) + "-" + std::to_string((i * 5 + 1) % 9),
        .months_in_use = 2.0 + i % 7,
        .by = "Cy",
        .at = {.utc_ms = test::BatchHistory::kFirstDayUtcMs + 365 * test::BatchHistory::kDayMs}});
  const ReturnsTold moved = returns_of(history.reader(), {.model = "P1-60-12"});
  ASSERT_EQ(moved.metrics.size(), 1U);
  EXPECT_FALSE(moved.metrics[0].told()) << moved.metrics[0].step.p;
  EXPECT_THAT(metrics_words(moved), HasSubstr("held against those of its own batch alone"));
}

TEST(ReturnsOverTheCalendar, AReturnAloneInItsBatchIsHeldAgainstNobody) {
  test::BatchHistory history;
  history.make({.batches = 12, .units = 1});
  for (int i = 0; i < 12; ++i)
    history.enter(schema::ReturnIntake{
        .serial = "b" + std::to_string(i) + "-0",
        .months_in_use = 2.0 + i % 7,
        .by = "Cy",
        .at = {.utc_ms = test::BatchHistory::kFirstDayUtcMs + 365 * test::BatchHistory::kDayMs}});
  const ReturnsTold alone = returns_of(history.reader(), {.model = "P1-60-12"});
  EXPECT_EQ(alone.compared, 0);
  EXPECT_THAT(metrics_words(alone), HasSubstr("only 0 returns have one to be held against"));
}

TEST_F(Returns, AMetricWhoseEffectHasNoBoundIsNamedNotDropped) {
  std::vector<std::pair<double, std::string>> weakest_first;
  for (const auto& row : shown())
    if (row.batch.starts_with("b") && row.verdict == "pass")
      weakest_first.emplace_back(*row.value, row.serial);
  std::ranges::sort(weakest_first);
  for (std::size_t i = 0; i < 12; ++i)
    back(weakest_first[i].second, 1 + 0.5 * static_cast<double>(i), 365);
  const ReturnsTold all = told();
  EXPECT_TRUE(all.metrics.empty());
  ASSERT_EQ(all.without_bound.size(), 1U);
  EXPECT_THAT(words_of(all).back(), HasSubstr("no figure can be told: flow at"));
}

TEST_F(Returns, ReturnsWithoutReasonTellNoMetric) {
  for (int i = 0; i < 12; ++i)
    back("b" + std::to_string(i) + "-" + std::to_string(i % 9), 2 + i % 7, 365);
  const ReturnsTold chance = told();
  ASSERT_EQ(chance.metrics.size(), 1U);
  EXPECT_FALSE(chance.metrics[0].told()) << chance.metrics[0].step.p;
}

TEST_F(Returns, WordsSayWhatIsAssumedAndHowManyAreBehindANumber) {
  back("b0-1", 6, 365);
  std::string all;
  for (const std::string& line : words_of(told())) all += line + "\n";
  EXPECT_THAT(all, HasSubstr("Came back of all released units of P1-60-12 by 2027-01-01"));
  EXPECT_THAT(all, HasSubstr("When they were sold is not known"));
  EXPECT_THAT(all, HasSubstr("Still out after 6 months: 99.07 % (93.61 to 99.87 %); 108 units"));
  EXPECT_THAT(all, HasSubstr("No form of the rate can be told: a form needs three returns."));
}

}  // namespace
}  // namespace endgate::daemon
