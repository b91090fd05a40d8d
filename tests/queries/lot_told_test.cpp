// Forward from a lot to its units, and the lots that a repair builds in.

#include "daemon/queries/lot_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/queries/repair_lots.h"
#include "daemon/queries/unit_events.h"
#include "tests/queries/small_store.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

schema::Lots lots_of_unit(const std::string& serial, const std::string& lot) {
  return {.subject_kind = "unit", .subject = serial, .parts = {{"reed", lot}}, .by = "Bo"};
}

schema::Repair repair_with(const std::string& serial, const std::string& parts) {
  return {.serial = serial, .finding = "worn ring", .parts = parts, .by = "Ada"};
}

TEST(LotTold, CountsEachUnitByItsFirstTestAndByItsStandingNow) {
  test::SmallStore store;
  store.keep({.serial = "A"});
  store.keep({.serial = "B", .verdict = "void", .standing = "hold"});
  store.keep({.serial = "B", .attempt = 2, .verdict = "fail", .standing = "reject"});
  store.keep({.serial = "B", .attempt = 3});
  store.keep({.serial = "C"});
  store.keep({.serial = "Other"});
  for (const char* serial : {"A", "B", "C", "Untested"}) store.enter(lots_of_unit(serial, "R-1"));
  store.enter(schema::Lots{
      .subject_kind = "unit", .subject = "A", .parts = {{"motor", "R-1"}}, .by = "Bo"});
  store.enter(schema::ReturnIntake{.serial = "C", .complaint = "weak", .by = "Cy"});
  const LotTold told = lot_told(schema::StoreReader(store.folder()), "R-1");
  EXPECT_EQ(told.units.size(), 5U) << "A has it as reed and as motor";
  EXPECT_EQ(told.count, 4);
  EXPECT_EQ(told.passed.count, 2);
  EXPECT_EQ(told.passed.of, 3) << "a void test is no first test";
  EXPECT_EQ(told.failed.count, 1);
  EXPECT_EQ(told.released.count, 2) << "B passed later";
  EXPECT_EQ(told.held.count, 1);
  EXPECT_EQ(told.came_back.count, 1);
  EXPECT_EQ(told.others_passed.of, 1) << "units of the model without the lot, for comparison";
  ASSERT_EQ(told.reasons.size(), 1U);
  EXPECT_EQ(told.reasons[0].words, "Flow at 400\u00A0kPa below its lower limit");
  ASSERT_EQ(told.causes.size(), 1U);
  EXPECT_EQ(told.causes[0].words, "No cause stated");
  EXPECT_THAT(words_of(told).front(),
              HasSubstr("4 units hold the lot R-1. Passed at the first test with it: 66.7 %"));
}

TEST(LotTold, OfALotThatNobodyHoldsOneSentenceIsSaid) {
  test::SmallStore store;
  const LotTold told = lot_told(schema::StoreReader(store.folder()), "R-9", "piston_ring");
  EXPECT_EQ(words_of(told),
            std::vector<std::string>{"No unit is known to hold the piston ring lot R-9."});
  store.enter(lots_of_unit("Untested", "R-9"));
  EXPECT_THAT(words_of(lot_told(schema::StoreReader(store.folder()), "R-9")),
              testing::ElementsAre("1 unit holds the lot R-9; none was tested with it yet."));
}

TEST(LotTold, AUnitThatGotAnotherLotHoldsItNoLonger) {
  test::SmallStore store;
  for (const char* serial : {"A", "B", "C"}) {
    store.enter(lots_of_unit(serial, "R-1"));
    store.keep({.serial = serial});
  }
  store.enter(repair_with("A", "reed=R-2"));
  store.enter(repair_with("C", "reed=R-1"));
  store.keep({.serial = "A", .attempt = 2, .verdict = "fail", .standing = "reject"});
  const LotTold told = lot_told(schema::StoreReader(store.folder()), "R-1");
  ASSERT_EQ(told.count, 3);
  EXPECT_EQ(told.no_longer, 1);
  EXPECT_FALSE(told.units[0].still_held);
  EXPECT_TRUE(told.units[1].still_held && told.units[2].still_held);
  EXPECT_EQ(told.passed.of, 3) << "all had it at their first test";
  EXPECT_EQ(told.rejected.count, 0) << "A was rejected with another reed";
  EXPECT_THAT(words_of(told).front(),
              HasSubstr("3 units hold or held the lot R-1, 1 of them no longer."));
}

// "Worse than usual" is asked of units without the lot, in the same kind of test.
TEST(LotTold, IsComparedWithTheUnitsWithoutIt) {
  test::SmallStore store;
  store.enter(lots_of_unit("A", "R-1"));
  store.keep({.serial = "A", .verdict = "fail", .standing = "reject"});
  store.keep({.serial = "B"});
  store.keep({.serial = "C", .purpose = "returned"});
  store.enter(lots_of_unit("C", "R-1"));
  store.enter(repair_with("B", "ring=R-1"));
  const LotTold told = lot_told(schema::StoreReader(store.folder()), "R-1");
  EXPECT_EQ(told.failed.of, 1) << "a returned unit is no new one";
  EXPECT_EQ(told.others_passed.count, 1);
  EXPECT_EQ(told.others_passed.of, 1) << "B had none when it was new";
}

TEST(RepairLots, AreTheWordsThatNameAPartAndItsLot) {
  const auto lots = lots_in(repair_with("A", "motor=M-118, new gasket; reed=R-22  =x y="));
  ASSERT_EQ(lots.size(), 2U);
  EXPECT_EQ(lots[0].part, "motor");
  EXPECT_EQ(lots[0].lot, "M-118");
  EXPECT_EQ(lots[1].lot, "R-22");
  EXPECT_TRUE(lots_in(repair_with("A", "")).empty());
  const auto in_words = lots_in(repair_with("A", "new reed (reed=R-22.1)."));
  ASSERT_EQ(in_words.size(), 1U);
  EXPECT_EQ(in_words[0].part, "reed");
  EXPECT_EQ(in_words[0].lot, "R-22.1") << "without the end of the sentence";
}

TEST(RepairLots, LeadToTheUnitFromTheRepairOn) {
  test::SmallStore store;
  store.keep({.serial = "A", .verdict = "fail", .standing = "reject"});
  store.enter(repair_with("A", "motor=M-118"));
  const auto told = [&] { return lot_told(schema::StoreReader(store.folder()), "M-118"); };
  ASSERT_EQ(told().units.size(), 1U);
  EXPECT_GT(told().units[0].repair, 0);
  EXPECT_EQ(told().repaired_passed.of, 0) << "the fail was before the motor";
  store.keep({.serial = "A", .attempt = 2});
  EXPECT_EQ(told().repaired_passed.count, 1);
  EXPECT_EQ(told().passed.of, 0) << "it did not have it from the start";
  EXPECT_TRUE(where_used(schema::StoreReader(store.folder()), "M-118", "reed").empty());
  EXPECT_EQ(serial_known_as(schema::StoreReader(store.folder()), "M-118"), "A");
}

TEST(RepairLots, AreWithdrawnWithTheirRepair) {
  test::SmallStore store;
  store.keep({.serial = "A"});
  store.enter(repair_with("A", "motor=M-118"));
  const schema::Position entry =
      schema::StoreReader(store.folder()).repairs_of("A").front().position;
  store.enter(schema::Withdrawal{.withdrawn = entry, .why = "another unit", .by = "Bo"});
  EXPECT_TRUE(where_used(schema::StoreReader(store.folder()), "M-118").empty());
}

// The level of a factor in each row; "" where it is not known.
std::vector<std::string> levels_in(const statistics::TestColumns& columns,
                                   const std::string& factor) {
  std::vector<std::string> levels(columns.rows());
  for (const statistics::Factor& each : columns.causes)
    if (each.name == factor)
      for (std::size_t row = 0; row < levels.size(); ++row)
        if (each.of_row[row] >= 0)
          levels[row] = each.levels[static_cast<std::size_t>(each.of_row[row])];
  return levels;
}

TEST(RepairLots, AreACauseOfTestsBehindTheRepairOnly) {
  test::SmallStore store;
  store.enter(schema::Lots{
      .subject_kind = "unit", .subject = "A", .parts = {{"motor", "M-1"}}, .by = "Bo"});
  store.keep({.serial = "A"});
  store.enter(repair_with("A", "motor=M-118"));
  store.keep({.serial = "A", .attempt = 2});
  store.keep({.serial = "B"});
  store.enter(repair_with("B", "motor=M-118"));
  const auto read = columns_of(schema::StoreReader(store.folder()),
                               {.model = "P1-60-12", .purpose = ""}, "fad_400");
  EXPECT_EQ(levels_in(read.columns, "motor lot"), (std::vector<std::string>{"M-1", "M-118", ""}));
}

}  // namespace
}  // namespace endgate::daemon
