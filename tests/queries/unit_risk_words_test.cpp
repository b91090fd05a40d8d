// What is said of the risk of whole units where no drawn unit is good.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/queries/unit_risk_told.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;
using testing::Not;

UnitRiskTold told_with(double bad, double good_failed) {
  return {.model = "P1-60-12",
          .tests = 40,
          .metrics = {"fad_400"},
          .risk = {.drawn = 1000,
                   .bad = bad,
                   .pass = 0,
                   .good_failed = good_failed,
                   .good_held_back_alone = {good_failed}}};
}

TEST(UnitRiskWords, SayThatNoUnitIsGoodInsteadOfAShareOfNone) {
  const UnitRiskTold told = told_with(1, 0);
  EXPECT_FALSE(of_good(told.risk, told.risk.good_failed));
  ASSERT_EQ(words_of(told).size(), 1U);
  EXPECT_THAT(words_of(told).front(), HasSubstr("none keeps every limit"));
  EXPECT_THAT(words_of(told).front(), Not(HasSubstr("nan")));
}

TEST(UnitRiskWords, SayAShareOfTheGoodOnes) {
  const UnitRiskTold told = told_with(0.5, 0.1);
  EXPECT_DOUBLE_EQ(of_good(told.risk, told.risk.good_failed).value(), 0.2);
  EXPECT_THAT(words_of(told)[1], HasSubstr("Of the good units 20.0\u00A0% fail"));
  EXPECT_FALSE(bad_of_passed(told.risk)) << "none passes";
}

}  // namespace
}  // namespace endgate::daemon
