// Studies of the measurement out of kept tests: the published study, what is unbalanced, one unit.

#include "daemon/queries/gauge_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "daemon/queries/gauge_words.h"
#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

constexpr double kBase = 8e-4, kStep = 1e-5;  // m3/s: the published numbers as flows

class Gauge : public testing::Test {
 protected:
  void keep(const std::string& serial, const std::string& bench, double value,
            const std::string& purpose = "lab") {
    history_.keep(serial, "", bench, purpose, ++attempts_[serial], kBase + kStep * value);
  }
  // Units 0 to 9 on benches A, B, C, three times each.
  void keep_manual() {
    std::ifstream file(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/published/msa/crossed-grr.csv");
    std::string line;
    std::getline(file, line);
    while (std::getline(file, line)) {
      int unit = 0, trial = 0;
      char bench = 0, comma = 0;
      double value = 0;
      std::istringstream(line) >> unit >> comma >> bench >> comma >> trial >> comma >> value;
      keep("S" + std::to_string(unit), std::string(1, bench), value);
    }
  }
  GaugeTold told(const StudyAsked& asked = {}, const std::string& purpose = "lab") const {
    return gauge_of(history_.reader(), {.model = "P1-60-12", .purpose = purpose}, "fad_400", asked);
  }
  std::string all_words(const GaugeTold& about) const {
    std::string all;
    for (const std::string& line : words_of(about)) all += line + "\n";
    return all;
  }
  std::map<std::string, int> attempts_{};
  test::BatchHistory history_;
};

TEST_F(Gauge, ThePublishedStudyComesOutOfKeptTests) {
  keep_manual();
  keep("S1", "A", 40, "production");
  const GaugeTold study = told();
  ASSERT_TRUE(study.study) << study.no_study;
  // MSA reference manual, 4th ed., chapter III.
  EXPECT_NEAR(study.study->repeat.sigma / kStep, 0.199933179721, 1e-7);
  EXPECT_NEAR(study.study->bench.sigma / kStep, 0.226837521496, 1e-7);
  EXPECT_NEAR(study.study->unit.sigma / kStep, 1.04232749384, 1e-7);
  EXPECT_EQ(study.units.size(), 10U);
  EXPECT_THAT(study.places, ElementsAre("A", "B", "C"));
  const std::string words = all_words(study);
  EXPECT_THAT(words, HasSubstr("of 10 units of P1-60-12, 3 benches, 90 tests"));
  EXPECT_THAT(words, HasSubstr("Of all variance 7.8 % ("));
  EXPECT_THAT(words, HasSubstr("4 kinds of unit can be told apart."));
  EXPECT_THAT(words, HasSubstr("From bench to bench: standard deviation 0.136"));
  EXPECT_THAT(words, HasSubstr("No sign that benches see single units differently (chance 97"));
}

TEST_F(Gauge, AnUnbalancedStudyIsRefusedByTheCellThatLacks) {
  keep_manual();
  keep("S3", "B", 0);
  const GaugeTold uneven = told();
  EXPECT_FALSE(uneven.study);
  EXPECT_THAT(all_words(uneven), HasSubstr("S3 has 4 on B, most have 3"));
  EXPECT_EQ(uneven.pairs.size(), 3U) << "benches can be compared all the same";
}

TEST_F(Gauge, OnlyTheFirstRepeatsMakeItBalancedAndWhatIsLeftOutIsNamed) {
  keep_manual();
  keep("S3", "B", 0);
  keep("S11", "A", 0);
  const GaugeTold first = told({.first_repeats = 3});
  ASSERT_TRUE(first.study) << first.no_study;
  EXPECT_NEAR(first.study->repeat.sigma / kStep, 0.199933179721, 1e-7);
  EXPECT_THAT(first.left_out, ElementsAre("S11"));
  EXPECT_THAT(all_words(first), HasSubstr("Left out for lack of tests: S11."));
}

// A repaired unit is another one: what it gained is neither a repeat nor a bench.
TEST_F(Gauge, TestsBeforeARepairOfAUnitAreLeftOutAndCounted) {
  keep("S1", "A", -40);
  keep("S1", "B", -40);
  history_.enter(schema::Repair{.serial = "S1", .finding = "worn ring", .by = "Ada"});
  keep_manual();
  history_.enter(schema::Repair{.serial = "S2", .finding = "worn ring", .by = "Ada"});
  const GaugeTold study = told();
  ASSERT_TRUE(study.study) << study.no_study;
  EXPECT_NEAR(study.study->repeat.sigma / kStep, 0.199933179721, 1e-7);
  EXPECT_THAT(all_words(study), HasSubstr("2 tests before a repair are left out"));
}

TEST_F(Gauge, SerialsAndASpanChooseTheStudy) {
  keep_manual();
  const GaugeTold two = told({.serials = {"S1", "S2", "S99"}}, "");
  ASSERT_TRUE(two.study);
  EXPECT_THAT(two.units, ElementsAre("S1", "S2"));
  EXPECT_THAT(two.found.not_found, ElementsAre("S99"));
  TrendFilter before{.model = "P1-60-12", .purpose = ""};
  before.before_utc_ms = test::BatchHistory::kFirstDayUtcMs;
  EXPECT_TRUE(gauge_of(history_.reader(), before, "fad_400", {}).readings.empty());
}

TEST_F(Gauge, TwoBenchesAreASingleComparisonAndSaySo) {
  for (int i = 0; i < 4; ++i)
    for (int r = 0; r < 2; ++r) {
      keep("T" + std::to_string(i), "north", i + 0.1 * r);
      keep("T" + std::to_string(i), "south", i + 0.1 * ((i + r) % 2));
    }
  const GaugeTold two = told();
  ASSERT_TRUE(two.study) << two.no_study;
  EXPECT_FALSE(two.study->bench_known);
  EXPECT_THAT(all_words(two), HasSubstr("Two benches are a single comparison"));
}

TEST_F(Gauge, BenchesAreHeldAgainstEachOtherUnitByUnit) {
  for (int i = 0; i < 12; ++i) {
    keep("T" + std::to_string(i), "north", i);
    keep("T" + std::to_string(i), "south", i + 0.2 + 0.01 * (i % 2));
  }
  const GaugeTold both = told();
  EXPECT_FALSE(both.study) << "one repeat makes no study";
  ASSERT_EQ(both.pairs.size(), 1U);
  ASSERT_TRUE(both.pairs[0].difference);
  EXPECT_NEAR(both.pairs[0].difference->mean / kStep, 0.205, 1e-9);
  EXPECT_THAT(pair_words(both, both.pairs[0]), HasSubstr("south less north: 0.123"));
  EXPECT_THAT(pair_words(both, both.pairs[0]), HasSubstr("They agree within 0.180"));
}

TEST_F(Gauge, OneUnitIsHeldAgainstItsKnownValue) {
  for (int i = 0; i < 26; ++i) keep("R1", "north", i % 2 == 0 ? 0.1 : 0.3);
  const StudyAsked unit{.serials = {"R1"}};
  const TrendFilter filter{.model = "P1-60-12", .purpose = ""};
  const OneUnitTold one = one_unit_of(history_.reader(), filter, "fad_400", unit,
                                      {.known = {kBase}, .limit_width = 10 * kStep});
  ASSERT_TRUE(one.study);
  EXPECT_NEAR(one.study->bias / kStep, 0.2, 1e-9);
  EXPECT_TRUE(one.study->biased());
  std::string words;
  for (const std::string& line : words_of(one)) words += line + "\n";
  EXPECT_THAT(words, HasSubstr("Mean less known value: 0.120"));
  EXPECT_THAT(words, HasSubstr("too high."));
  EXPECT_THAT(words, HasSubstr("room for repeats alone 3.27"));
  keep("R1", "south", 0);
  EXPECT_FALSE(one_unit_of(history_.reader(), filter, "fad_400", unit, {.known = {kBase}}).study)
      << "two benches are no repeat";
}

}  // namespace
}  // namespace endgate::daemon
