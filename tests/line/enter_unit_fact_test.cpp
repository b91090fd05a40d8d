// daemon/line/enter_unit_fact.h: what is refused, and why.

#include "daemon/line/enter_unit_fact.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

EntryFields decision(const std::string& word, const std::string& second = "") {
  return {{"serial", "QH1"},
          {"decision", word},
          {"reason", "surface scratch"},
          {"by", "A. Marlow"},
          {"second_by", second}};
}

template <class Entry>
std::string refusal_of(const Entry& entry) {
  const auto* refusal = std::get_if<CommandRefusal>(&entry);
  return refusal == nullptr ? "" : refusal->sentence;
}

TEST(EnterUnitFact, AConcessionNeedsTwoDifferentNames) {
  const UnitNow rejected{.standing = "reject"};
  EXPECT_THAT(refusal_of(decision_entry(decision("concession"), rejected)),
              HasSubstr("two different people"));
  EXPECT_THAT(refusal_of(decision_entry(decision("concession", "a.marlow"), rejected)),
              HasSubstr("two different people"));
  EXPECT_EQ(refusal_of(decision_entry(decision("concession", "B. Okoro"), rejected)), "");
}

TEST(EnterUnitFact, ARetestIsNotDecidedAfterAFailWithoutRepair) {
  EXPECT_THAT(refusal_of(decision_entry(decision("retest"), {.standing = "reject"})),
              HasSubstr("Record a repair"));
  EXPECT_EQ(refusal_of(
                decision_entry(decision("retest"), {.standing = "reject", .repaired_since = true})),
            "");
  EXPECT_EQ(refusal_of(decision_entry(decision("retest"), {.standing = "hold"})), "");
}

TEST(EnterUnitFact, AScrappedUnitIsCalledBackByTwoPeople) {
  const UnitNow scrapped{.standing = "reject", .scrapped = true};
  EXPECT_THAT(refusal_of(decision_entry(decision("retest"), scrapped)),
              HasSubstr("two different people"));
  EXPECT_THAT(refusal_of(decision_entry(decision("retest", "a. marlow"), scrapped)),
              HasSubstr("two different people"));
  EXPECT_EQ(refusal_of(decision_entry(decision("retest", "B. Okoro"), scrapped)), "");
}

TEST(EnterUnitFact, AReturnedUnitIsTestedWithoutADecision) {
  EXPECT_THAT(
      refusal_of(decision_entry(decision("retest"), {.standing = "hold", .returned_since = true})),
      HasSubstr("needs no decision"));
}

TEST(EnterUnitFact, AReleasedOrScrappedUnitNeedsNoConcession) {
  const EntryFields fields = decision("concession", "B. Okoro");
  EXPECT_THAT(refusal_of(decision_entry(fields, {.standing = "release"})), HasSubstr("released"));
  EXPECT_THAT(refusal_of(decision_entry(fields, {.standing = "reject", .scrapped = true})),
              HasSubstr("scrapped"));
}

TEST(EnterUnitFact, AnUnknownUnitOrWordIsRefused) {
  EXPECT_THAT(refusal_of(decision_entry(decision("scrap"), {})), HasSubstr("No test of QH1"));
  EXPECT_THAT(refusal_of(decision_entry(decision("keep"), {.standing = "hold"})),
              HasSubstr("not \"keep\""));
}

TEST(EnterUnitFact, AReturnTellsAMissingNumberFromZero) {
  EntryFields fields{{"serial", "QH1"}, {"complaint", "loud"}, {"by", "C"}, {"months_in_use", "0"}};
  const ReturnEntry entry = return_entry(fields);
  const auto& intake = std::get<schema::ReturnIntake>(entry);
  EXPECT_EQ(intake.months_in_use, 0);
  EXPECT_FALSE(intake.hours_in_use);
  fields["hours_in_use"] = "about 30";
  EXPECT_THAT(refusal_of(return_entry(fields)),
              HasSubstr("hours in use is a number from 0 to 1000000, not \"about 30\"."));
}

TEST(EnterUnitFact, LotsNameEachPartWithItsLot) {
  EntryFields fields{{"subject_kind", "unit"},
                     {"subject", "QH1"},
                     {"parts", "motor=M-118 reed=R-2620"},
                     {"by", "C"}};
  const LotsEntry entry = lots_entry(fields);
  const auto& lots = std::get<schema::Lots>(entry);
  ASSERT_EQ(lots.parts.size(), 2U);
  EXPECT_EQ(lots.parts[1].part, "reed");
  EXPECT_EQ(lots.parts[1].lot, "R-2620");
  fields["parts"] = "motor";
  EXPECT_THAT(refusal_of(lots_entry(fields)), HasSubstr("\"motor\" is not PART=LOT"));
  fields["parts"] = "reed=R-1 reed=R-1";
  EXPECT_THAT(refusal_of(lots_entry(fields)), HasSubstr("twice"));
}

TEST(EnterUnitFact, WhoSaysSoIsAlwaysAsked) {
  EXPECT_THAT(refusal_of(repair_entry({{"serial", "QH1"}, {"finding", "worn ring"}, {"by", "  "}})),
              HasSubstr("who repaired it"));
}

}  // namespace
}  // namespace endgate::daemon
