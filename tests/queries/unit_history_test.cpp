#include "daemon/queries/unit_history.h"

#include <gtest/gtest.h>

#include "daemon/queries/against_birth.h"
#include "daemon/queries/unit_events.h"
#include "daemon/queries/where_used.h"
#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

const std::string kSerial = "QH2648-0001-A";

UnitHistory asked(const test::SmallStore& store) {
  return history_of(schema::StoreReader(store.folder()), kSerial);
}

TEST(UnitHistory, OfAnUnknownSerialHasNoStanding) {
  test::SmallStore store;
  const UnitHistory history = asked(store);
  EXPECT_TRUE(history.tests.empty());
  EXPECT_FALSE(history.standing);
}

TEST(UnitHistory, TellsTestsOldestFirstAndTheStandingKeptWithTheNewest) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "undecided", .standing = "hold"});
  store.keep({.serial = "QH2648-0002-B", .verdict = "fail", .standing = "reject"});
  store.keep({.serial = kSerial, .attempt = 2});
  const UnitHistory history = asked(store);
  ASSERT_EQ(history.tests.size(), 2U);
  EXPECT_EQ(history.tests[0].record.verdict, "undecided");
  EXPECT_EQ(history.tests[1].record.start.attempt, 2);
  EXPECT_EQ(history.standing->word, "release");
  EXPECT_EQ(history.standing->reason, "because of attempt 2");
}

TEST(UnitHistory, ARepairAfterTheLastTestHoldsTheUnit) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "fail", .standing = "reject"});
  store.repair(kSerial);
  const UnitHistory history = asked(store);
  ASSERT_EQ(history.repairs.size(), 1U);
  EXPECT_GT(history.repairs[0].position, history.tests[0].position);
  EXPECT_EQ(history.repairs[0].fact.finding, "worn ring");
  EXPECT_EQ(history.standing->word, "hold");
  store.keep({.serial = kSerial, .attempt = 2});
  EXPECT_EQ(asked(store).standing->word, "release");
}

TEST(UnitHistory, AStartedTestThatIsNotKeptYetHoldsTheUnit) {
  test::SmallStore store;
  store.keep({.serial = kSerial});
  store.begin(kSerial, 2);
  EXPECT_EQ(asked(store).standing->word, "hold");
  EXPECT_EQ(asked(store).standing->reason, "Attempt 2 was started and its result is not kept yet.");
}

schema::Disposition decision(const std::string& word) {
  return {.serial = kSerial, .decision = word, .reason = "seen", .by = "Ada", .second_by = "Bo"};
}

TEST(UnitHistory, ADecisionAfterTheLastTestIsTheStanding) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "undecided", .standing = "hold"});
  store.enter(decision("concession"));
  EXPECT_EQ(asked(store).standing->word, "release");
  store.enter(decision("scrap"));
  EXPECT_EQ(asked(store).standing->word, "reject");
  store.repair(kSerial);
  EXPECT_EQ(asked(store).standing->reason, "Scrapped by Ada: seen");
  store.enter(decision("retest"));
  EXPECT_EQ(asked(store).standing->word, "hold");
}

TEST(UnitHistory, AReturnHoldsTheUnitUntilItIsTested) {
  test::SmallStore store;
  store.keep({.serial = kSerial});
  store.enter(schema::ReturnIntake{.serial = kSerial, .complaint = "weak", .by = "Cy"});
  EXPECT_EQ(asked(store).standing->word, "hold");
  store.enter(decision("concession"));
  EXPECT_EQ(asked(store).standing->word, "release");
  store.keep({.serial = kSerial, .attempt = 2, .verdict = "fail", .standing = "reject"});
  store.enter(schema::ReturnIntake{.serial = kSerial, .complaint = "weak", .by = "Cy"});
  EXPECT_EQ(asked(store).standing->word, "reject") << "a return washes off no fail";
}

TEST(UnitHistory, ARepairEndsAConcession) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "undecided", .standing = "hold"});
  store.enter(decision("concession"));
  store.repair(kSerial);
  EXPECT_EQ(asked(store).standing->reason, "Repaired since its last test. Test it again.");
}

TEST(UnitHistory, TellsWhatPeopleEnteredInOrder) {
  test::SmallStore store;
  store.enter(schema::Lots{
      .subject_kind = "unit", .subject = kSerial, .parts = {{"motor_number", "M-77"}}, .by = "Bo"});
  store.keep({.serial = kSerial});
  store.enter(schema::ReturnIntake{.serial = kSerial,
                                   .complaint = "weak",
                                   .condition = "dusty",
                                   .months_in_use = 7,
                                   .by = "Cy"});
  store.repair(kSerial);
  const std::vector<UnitEvent> events = events_of(asked(store));
  ASSERT_EQ(events.size(), 3U);
  EXPECT_EQ(events[0].entry.words, "motor number M-77");
  EXPECT_EQ(events[1].entry.words, "weak; as received: dusty; 7 months in use");
  EXPECT_EQ(events[2].entry.words, "worn ring");
}

schema::Withdrawal withdrawal_of(schema::Position entry) {
  return {.withdrawn = entry, .why = "another unit", .by = "Bo"};
}

TEST(UnitHistory, AWithdrawnEntryIsToldAndCountsNoMore) {
  test::SmallStore store;
  store.keep({.serial = kSerial});
  store.repair(kSerial);
  EXPECT_EQ(asked(store).standing->word, "hold");
  store.enter(withdrawal_of(asked(store).repairs.back().position));
  EXPECT_EQ(asked(store).standing->word, "release");
  EXPECT_TRUE(asked(store).repairs.empty());
  const std::vector<UnitEvent> events = events_of(asked(store));
  ASSERT_EQ(events.size(), 1U);
  EXPECT_EQ(events[0].entry.words, "worn ring");
  EXPECT_EQ(withdrawn_words(events[0]), "withdrawn on 1970-01-01 by Bo: another unit");
}

// A fail, a repair of the wrong unit, a pass: the pass alone said release.
TEST(UnitHistory, WithoutAWithdrawnRepairTheFailBeforeItCountsAgain) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "fail", .standing = "reject"});
  store.repair(kSerial);
  store.keep({.serial = kSerial, .attempt = 2});
  EXPECT_EQ(asked(store).standing->word, "release");
  store.enter(withdrawal_of(asked(store).repairs.back().position));
  EXPECT_EQ(asked(store).standing->word, "reject");
  EXPECT_EQ(asked(store).standing->reason, "Attempt 1 failed: flow is low");
  store.keep({.serial = kSerial, .attempt = 3, .verdict = "void", .standing = "hold"});
  EXPECT_EQ(asked(store).standing->word, "hold") << "a test after the withdrawal was told of it";
}

TEST(UnitHistory, AWithdrawnConcessionReleasesNoMore) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "undecided", .standing = "hold"});
  store.enter(decision("concession"));
  store.enter(withdrawal_of(asked(store).decisions.back().position));
  EXPECT_EQ(asked(store).standing->word, "hold");
}

TEST(UnitHistory, IsFoundByTheNumberOfAPart) {
  test::SmallStore store;
  store.keep({.serial = kSerial});
  store.enter(schema::Lots{
      .subject_kind = "unit", .subject = kSerial, .parts = {{"motor_number", "M-77"}}, .by = "Bo"});
  const schema::StoreReader reader(store.folder());
  EXPECT_EQ(serial_known_as(reader, "M-77"), kSerial);
  EXPECT_EQ(serial_known_as(reader, kSerial), kSerial);
  EXPECT_EQ(serial_known_as(reader, "M-78"), "M-78");
}

TEST(AgainstBirth, HoldsALaterTestAgainstTheFirstThatPassed) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "void", .standing = "hold"});
  store.keep({.serial = kSerial, .attempt = 2, .fad_400 = 9e-4});
  store.keep({.serial = kSerial, .attempt = 3, .verdict = "fail", .fad_400 = 7e-4});
  const UnitHistory unit = asked(store);
  EXPECT_FALSE(against_birth(unit, unit.tests[0]));
  EXPECT_FALSE(against_birth(unit, unit.tests[1]));
  const auto against = against_birth(unit, unit.tests[2]);
  ASSERT_TRUE(against);
  EXPECT_EQ(against->birth_attempt, 2);
  ASSERT_EQ(against->differences.size(), 1U) << "dead_head is missing in both";
  EXPECT_NEAR(against->differences[0].change, -2e-4, 1e-12);
  EXPECT_TRUE(against->sentence.starts_with("Flow at 400\u00A0kPa is 22.2\u00A0% lower"))
      << against->sentence;
}

TEST(AgainstBirth, ALabTrialIsNoBirth) {
  UnitHistory unit;
  for (const char* purpose : {"lab", "production"}) {
    schema::StoredRecord test;
    test.record.verdict = "pass";
    test.record.start.purpose = purpose;
    unit.tests.push_back(test);
  }
  ASSERT_NE(birth_of(unit), nullptr);
  EXPECT_EQ(birth_of(unit)->record.start.purpose, "production");
}

TEST(WhereUsed, FollowsALotThroughBatchesToEveryUnitOnce) {
  test::SmallStore store;
  store.keep({.serial = kSerial, .verdict = "fail", .standing = "reject"});
  const std::string batch = test::made_start(kSerial, 1).batch;
  ASSERT_FALSE(batch.empty());
  store.enter(schema::Lots{
      .subject_kind = "batch", .subject = batch, .parts = {{"reed", "R-1"}, {"motor", "M-1"}}});
  store.enter(schema::Lots{.subject_kind = "unit", .subject = kSerial, .parts = {{"reed", "R-1"}}});
  store.enter(
      schema::Lots{.subject_kind = "unit", .subject = "QH-untested", .parts = {{"reed", "R-1"}}});
  const auto units = where_used(schema::StoreReader(store.folder()), "R-1");
  ASSERT_EQ(units.size(), 2U);
  EXPECT_EQ(units[0].serial, kSerial);
  EXPECT_EQ(units[0].through, batch);
  EXPECT_EQ(units[0].verdict, "fail");
  EXPECT_EQ(units[1].standing, "");
  EXPECT_EQ(where_used(schema::StoreReader(store.folder()), "r-1").size(), 2U)
      << "typed in small letters";
}

TEST(Spelled, WhatPeopleReadHasBlanksAndLotsStayAsTheyAre) {
  EXPECT_EQ(spelled("ring_wear"), "ring wear");
  EXPECT_EQ(spelled("piston_ring P-2613"), "piston ring P-2613");
  EXPECT_EQ(spelled("motor M_118"), "motor M_118");
  EXPECT_EQ(spelled("_x_"), "_x_");
}

}  // namespace
}  // namespace endgate::daemon
