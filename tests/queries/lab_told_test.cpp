// The lab's questions: units side by side, and how one unit moves as it runs.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/queries/endurance_told.h"
#include "daemon/queries/side_by_side.h"
#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::string joined(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& line : words) all += line + "\n";
  return all;
}

class Lab : public testing::Test {
 protected:
  // Each test of the small store lasts 71.4 s.
  void wear(int tests, double per_test, const std::string& serial = "L1") {
    for (int i = 0; i < tests; ++i)
      store_.keep({.serial = serial,
                   .attempt = ++attempt_,
                   .fad_400 = 9e-4 - per_test * i + 1e-7 * (i * 5 % 3 - 1),
                   .purpose = "lab"});
  }
  EnduranceTold endurance(bool over_days = false) const {
    return endurance_of(schema::StoreReader(store_.folder()), "L1", "fad_400", over_days);
  }
  SideBySide beside(const std::vector<std::string>& names) const {
    return side_by_side(schema::StoreReader(store_.folder()), names);
  }
  std::int64_t attempt_ = 0;
  test::SmallStore store_;
};

TEST_F(Lab, APathOverTheHoursOnBenchesIsToldWithItsInterval) {
  wear(8, 2e-6);
  const EnduranceTold told = endurance();
  ASSERT_TRUE(told.path) << told.no_path;
  EXPECT_NEAR(told.points.back().time_s, 7 * 71.4, 1e-9);
  EXPECT_NEAR(told.path->slope, -2e-6 / 71.4, 2e-10);
  EXPECT_THAT(joined(words_of(told)), HasSubstr("8 tests with a value, over hours on benches"));
}

TEST_F(Lab, VoidTestsRunTooButAreNoPoints) {
  wear(3, 2e-6);
  store_.keep({.serial = "L1", .attempt = ++attempt_, .verdict = "void"});
  wear(3, 2e-6);
  const EnduranceTold told = endurance();
  EXPECT_EQ(told.points.size(), 6U);
  EXPECT_NEAR(told.points.back().time_s, 6 * 71.4, 1e-9);
}

TEST_F(Lab, FewTestsTellNothing) {
  wear(4, 2e-6);
  const EnduranceTold told = endurance();
  EXPECT_FALSE(told.path);
  EXPECT_THAT(joined(words_of(told)), HasSubstr("five different times"));
}

TEST_F(Lab, WhatCameBeforeARepairDoesNotBelongToThePath) {
  wear(5, 2e-6);
  store_.repair("L1");
  wear(6, 1e-6);
  const EnduranceTold told = endurance();
  EXPECT_EQ(told.before_repair, 5U);
  EXPECT_EQ(told.points.size(), 6U);
  EXPECT_EQ(told.points.front().time_s, 0);
  EXPECT_THAT(joined(words_of(told)), HasSubstr("5 tests before its last repair"));
}

TEST_F(Lab, UnitsSideBySideDifferFromTheFirstWithTheirUncertainty) {
  store_.keep({.serial = "A", .fad_400 = 9e-4});
  store_.keep({.serial = "B", .fad_400 = 7e-4, .purpose = "lab"});
  const SideBySide told = beside({"A", "B", "C"});
  ASSERT_EQ(told.units.size(), 2U);
  EXPECT_THAT(told.not_found, ElementsAre("C"));
  ASSERT_EQ(told.metrics.size(), 1U) << "dead_head has no value in either";
  const analysis::Difference* d = difference_in(told.units[1], *told.metrics[0]);
  ASSERT_NE(d, nullptr);
  EXPECT_NEAR(d->change, -2e-4, 1e-12);
  EXPECT_THAT(joined(words_of(told)), HasSubstr("There is no test of C here"));
}

TEST_F(Lab, ASentenceSaysWhetherUnitsDiffer) {
  store_.keep({.serial = "A", .fad_400 = 9e-4});
  store_.keep({.serial = "B", .fad_400 = 7e-4});
  store_.keep({.serial = "C", .fad_400 = 9.001e-4});
  EXPECT_THAT(
      joined(words_of(beside({"A", "B"}))),
      HasSubstr("B and A differ beyond uncertainty in 1 of 1 metric: flow at 400\u00A0kPa."));
  EXPECT_THAT(joined(words_of(beside({"A", "C"}))),
              HasSubstr("C and A do not differ beyond uncertainty in any of 1 metric."));
}

TEST_F(Lab, AUnitIsNotHeldAgainstItself) {
  store_.keep({.serial = "A", .fad_400 = 9e-4});
  store_.keep({.serial = "V", .verdict = "void"});
  EXPECT_EQ(beside({"A", "A", "A/1"}).units.size(), 1U);
  EXPECT_THAT(joined(words_of(beside({"A", "V"}))), HasSubstr("Every test of V is void"));
}

TEST_F(Lab, AnUnknownUnitHasNoPathAndIsSaidToBeUnknown) {
  EXPECT_EQ(joined(words_of(endurance())), joined({"There is no test of L1 here."}));
}

TEST_F(Lab, TheNewestTestCountsUnlessAnAttemptIsNamed) {
  store_.keep({.serial = "A", .attempt = 1, .fad_400 = 9e-4});
  store_.keep({.serial = "A", .attempt = 2, .fad_400 = 8e-4});
  store_.keep({.serial = "A", .attempt = 3, .verdict = "void"});
  const SideBySide told = beside({"A/1", "A"});
  ASSERT_EQ(told.units.size(), 2U);
  EXPECT_EQ(told.units[0].test.record.start.attempt, 1);
  EXPECT_EQ(told.units[1].test.record.start.attempt, 2);
  EXPECT_THAT(beside({"A/7"}).not_found, ElementsAre("A/7"));
  EXPECT_THAT(joined(words_of(beside({"A"}))), HasSubstr("Two units with a test are needed"));
}

}  // namespace
}  // namespace endgate::daemon
