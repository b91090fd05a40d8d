#include "daemon/queries/budget_told.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

schema::Record made(std::vector<schema::UncertaintyPart> parts, double u) {
  schema::Record record;
  record.metrics.push_back({.id = "fad_400", .value = 8e-4, .u = u, .parts = std::move(parts)});
  record.metrics.push_back({.id = "dead_head", .missing_reason = "there is no curve"});
  return record;
}

TEST(BudgetTold, NamesEachCauseInWordsTheLargestFirst) {
  const auto budgets =
      budgets_of(made({{"random", 3e-6}, {"calibration north@2/discharge_pressure", -4e-6}}, 5e-6));
  ASSERT_EQ(budgets.size(), 1U);  // a metric without a value has no budget
  EXPECT_EQ(budgets[0].metric, "fad_400");
  ASSERT_EQ(budgets[0].lines.size(), 2U);
  EXPECT_EQ(budgets[0].lines[0].cause, "calibration of discharge pressure, bench north, version 2");
  EXPECT_DOUBLE_EQ(budgets[0].lines[0].u, 4e-6);
  EXPECT_NEAR(budgets[0].lines[0].share, 0.64, 1e-12);
  EXPECT_EQ(budgets[0].lines[1].cause, "scatter within the test");
  EXPECT_NEAR(budgets[0].lines[1].share, 0.36, 1e-12);
}

TEST(BudgetTold, SharesAddUpWithWhatIsNotAttributed) {
  const auto budgets = budgets_of(made({{"model", 3e-6}, {"random", 1e-9}}, 5e-6));
  ASSERT_EQ(budgets[0].lines.size(), 2U);  // a share too small to say has no line
  EXPECT_EQ(budgets[0].lines[0].cause, "not attributed");
  EXPECT_NEAR(budgets[0].lines[0].share + budgets[0].lines[1].share, 1, 1e-6);
}

TEST(BudgetTold, EveryCauseTheAnalysisNamesHasWords) {
  EXPECT_EQ(words_of_cause("random/seal"), "scatter within the test");
  EXPECT_EQ(words_of_cause("constants south@11"), "receivers and leaks of bench south, version 11");
  EXPECT_EQ(words_of_cause("calibration north@1"), "calibration of bench north, version 1");
  EXPECT_EQ(words_of_cause("correction thermal"), "correction to the warm state");
  EXPECT_EQ(words_of_cause("correction reference"),
            "correction to reference voltage and barometer");
  EXPECT_EQ(words_of_cause("model"), "what the form of the curve cannot follow");
}

}  // namespace
}  // namespace endgate::daemon
