#include "reports/budget_section.h"

#include <gmock/gmock.h>

#include "tests/reports/well_formed.h"

namespace endgate::reports {
namespace {

using testing::HasSubstr;

TEST(BudgetSection, IsATableOfEachNumberWithTheWholeFirst) {
  const std::vector<BudgetTable> budgets{
      {"Flow at 400 kPa",
       "0.21 L/min",
       {{"Calibration of flow <north>", "0.18 L/min", "73 %"}, {"Scatter", "0.11 L/min", "27 %"}}},
      {"Back leak", "3 cm3/min", {}}};
  const std::string markup = to_markup(budgets_of(budgets));
  EXPECT_EQ(test::wrong_in_markup(markup), "");
  EXPECT_THAT(markup, HasSubstr("Flow at 400 kPa"));
  EXPECT_THAT(markup, HasSubstr("Calibration of flow &lt;north&gt;"));
  EXPECT_LT(markup.find("All causes together"), markup.find("0.18 L/min"));
  EXPECT_LT(markup.find("0.18 L/min"), markup.find("0.11 L/min"));
  EXPECT_THAT(markup, HasSubstr("Back leak"));
}

}  // namespace
}  // namespace endgate::reports
