// What people enter about a unit, as they type it, and what the store then says.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/line/enter_unit_fact.h"
#include "schema/store.h"
#include "tests/cli/command.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

const std::string kUnit = "QH2648-0001-A";

class UnitFacts : public testing::Test {
 protected:
  UnitFacts() {
    schema::StoreWriter writer(folder_.path());
    test::append_test(writer, kUnit);
  }
  Ended say(std::vector<std::string> words) const {
    words.insert(words.end(), {"--data", folder_.path().string()});
    return test::endgate(std::move(words));
  }
  schema::StoreReader reader() const { return schema::StoreReader(folder_.path()); }

  test::TemporaryFolder folder_;
};

TEST_F(UnitFacts, LotsOfABatchAreKeptWithWhoSaidSo) {
  EXPECT_EQ(say({"lots", "B-1", "motor=M-1 reed=R-2", "--of", "batch", "--by", "Ada"}).status, 0);
  const auto kept = reader().lots_of("batch", "B-1");
  ASSERT_EQ(kept.size(), 1U);
  EXPECT_EQ(kept[0].fact.parts[1].lot, "R-2");
  EXPECT_EQ(kept[0].fact.by, "Ada");
}

TEST_F(UnitFacts, LotsThatAreNoPairsAreRefused) {
  for (const char* parts : {"motor", "=M-1", "motor=", "motor=M-1 motor=M-1"}) {
    const Ended ended = say({"lots", kUnit, parts, "--by", "Ada"});
    EXPECT_NE(ended.status, 0) << parts;
    EXPECT_THAT(ended.err, HasSubstr("Nothing was kept.")) << parts;
  }
  EXPECT_NE(say({"lots", kUnit, "motor=M-1", "--of", "crate", "--by", "Ada"}).status, 0);
  EXPECT_TRUE(reader().lots_of("unit", kUnit).empty());
}

TEST_F(UnitFacts, MoreMonthsInUseThanAUnitExistsAreKeptAndRemarked) {
  const auto back = [&](const std::string& months) {
    return say({"return", kUnit, "--complaint", "weak", "--months", months, "--by", "Cy"});
  };
  const Ended wrong = back("8,5");
  EXPECT_EQ(wrong.status, 2);
  EXPECT_THAT(wrong.err, HasSubstr("months in use is a number from 0 to 1200, not \"8,5\"; write "
                                   "a decimal point."));
  EXPECT_THAT(back("0").out, testing::Not(HasSubstr("months ago")));
  const Ended beyond = back("1199");
  EXPECT_EQ(beyond.status, 0);
  EXPECT_THAT(beyond.out, HasSubstr("months ago, less than the months in use"));
}

TEST_F(UnitFacts, AReturnKeepsUnknownUseAsUnknown) {
  EXPECT_EQ(say({"return", kUnit, "--complaint", "weak", "--hours", "412.5", "--by", "Cy"}).status,
            0);
  const auto kept = reader().returns_of(kUnit);
  ASSERT_EQ(kept.size(), 1U);
  EXPECT_EQ(kept[0].fact.hours_in_use, 412.5);
  EXPECT_FALSE(kept[0].fact.months_in_use);
  for (const char* hours : {"many", "-1", "12h", "nan", "1e9"})
    EXPECT_NE(say({"return", kUnit, "--complaint", "weak", "--hours", hours, "--by", "Cy"}).status,
              0)
        << hours;
  EXPECT_EQ(reader().returns_of(kUnit).size(), 1U);
}

TEST_F(UnitFacts, TheAnswerSaysWhatIsKnownOfTheUnit) {
  const std::vector<std::string> rest{"--complaint", "weak", "--by", "Cy"};
  std::vector<std::string> known{"return", kUnit}, unknown{"return", "QH2648-9999-Z"};
  known.insert(known.end(), rest.begin(), rest.end());
  unknown.insert(unknown.end(), rest.begin(), rest.end());
  EXPECT_THAT(say(known).out, HasSubstr("Return of " + kUnit + " is kept"));
  EXPECT_THAT(say(known).out, HasSubstr("1 test of it is kept"));
  EXPECT_THAT(say(unknown).out, HasSubstr("No test of it is kept yet"));
}

TEST_F(UnitFacts, AReturnHoldsAReleasedUnitAndWashesOffNoFail) {
  EXPECT_EQ(say({"return", kUnit, "--complaint", "weak", "--by", "Cy"}).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("standing: hold. Came back"));
  EXPECT_EQ(say({"decide", kUnit, "scrap", "--reason", "burnt", "--by", "Ada"}).status, 0);
  EXPECT_EQ(say({"return", kUnit, "--complaint", "weak", "--by", "Cy"}).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("standing: reject. Scrapped"));
}

TEST_F(UnitFacts, LotsNameNoBatchAsAUnitAndNoUnitAsABatch) {
  const std::string batch = reader().records_of(kUnit).front().record.start.batch;
  ASSERT_NE(batch, "");
  const Ended as_unit = say({"lots", batch, "motor=M-1", "--by", "Ada"});
  EXPECT_EQ(as_unit.status, 2);
  EXPECT_THAT(as_unit.err, HasSubstr("is a batch here"));
  EXPECT_THAT(say({"lots", kUnit, "motor=M-1", "--of", "batch", "--by", "Ada"}).err,
              HasSubstr("is a unit here"));
}

TEST_F(UnitFacts, LotsTellNewPartsAndEarlierLotsOfTheSamePart) {
  EXPECT_THAT(say({"lots", kUnit, "motor=M-1", "--by", "Ada"}).out,
              testing::Not(HasSubstr("No part")));
  const Ended second = say({"lots", kUnit, "motor=M-2 moter=M-3", "--by", "Ada"});
  EXPECT_THAT(second.out, HasSubstr("No part was called moter before; there are motor."));
  EXPECT_THAT(second.out, HasSubstr("says motor M-1; both stay"));
}

TEST_F(UnitFacts, ARepairHoldsTheUnitUntilItsNextTest) {
  EXPECT_EQ(
      say({"repair", kUnit, "--finding", "worn_ring", "--parts", "ring", "--by", "Ada"}).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("standing: hold. Repaired since"));
}

TEST_F(UnitFacts, AScrappedUnitIsRejectedUntilARetestIsDecided) {
  EXPECT_EQ(say({"decide", kUnit, "scrap", "--reason", "dropped", "--by", "Ada"}).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("standing: reject. Scrapped by Ada: dropped"));
  std::vector<std::string> back{"decide", kUnit, "retest", "--reason", "wrong unit", "--by", "Bo"};
  EXPECT_EQ(say(back).status, 2);
  back.insert(back.end(), {"--second", "Ada"});
  EXPECT_EQ(say(back).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("standing: hold. A retest was decided"));
}

TEST_F(UnitFacts, AConcessionNeedsTwoDifferentPeople) {
  const std::vector<std::string> made{"decide", kUnit,  "concession", "--reason",
                                      "r",      "--by", "Ada"};
  EXPECT_THAT(say({"decide", kUnit, "retest", "--reason", "r", "--by", "Bo"}).err,
              HasSubstr("The unit is released."));
  EXPECT_THAT(say(made).err, HasSubstr("needs no concession"));
  EXPECT_EQ(say({"repair", kUnit, "--finding", "x", "--by", "Ada"}).status, 0);
  EXPECT_THAT(say(made).err, HasSubstr("two different people"));
  std::vector<std::string> same = made, two = made;
  same.insert(same.end(), {"--second", " aDa "});
  two.insert(two.end(), {"--second", "Bo"});
  EXPECT_THAT(say(same).err, HasSubstr("two different people"));
  EXPECT_EQ(say(two).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out,
              HasSubstr("standing: release. Concession by Ada and Bo"));
}

TEST_F(UnitFacts, DecisionsAreAboutUnitsThatWereTested) {
  EXPECT_THAT(say({"decide", "QH-none", "scrap", "--reason", "r", "--by", "Ada"}).err,
              HasSubstr("No test of QH-none is kept here."));
  EXPECT_THAT(say({"decide", kUnit, "burn", "--reason", "r", "--by", "Ada"}).err,
              HasSubstr("retest, scrap or concession"));
}

TEST_F(UnitFacts, AFailedUnitIsNotRetestedWithoutRepair) {
  const daemon::UnitNow failed{.standing = "reject"};
  const daemon::EntryFields fields{
      {"serial", kUnit}, {"decision", "retest"}, {"reason", "r"}, {"by", "Ada"}};
  const auto refused = daemon::decision_entry(fields, failed);
  EXPECT_THAT(std::get<daemon::CommandRefusal>(refused).sentence, HasSubstr("Record a repair"));
  const daemon::UnitNow repaired{.standing = "hold", .repaired_since = true};
  EXPECT_TRUE(
      std::holds_alternative<schema::Disposition>(daemon::decision_entry(fields, repaired)));
}

TEST_F(UnitFacts, AnEntryIsWithdrawnByThePositionThatHistoryTells) {
  ASSERT_EQ(say({"repair", kUnit, "--finding", "worn_ring", "--by", "Ada"}).status, 0);
  const std::string position = std::to_string(reader().last_repair_position(kUnit));
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("\n" + position + " "));
  const Ended ended = say({"withdraw", position, "--why", "another unit", "--by", "Bo"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("The repair of " + kUnit + " (worn ring, by Ada) is withdrawn"));
  const std::string told = say({"history", kUnit}).out;
  EXPECT_THAT(told, HasSubstr("withdrawn"));
  EXPECT_THAT(told, HasSubstr("by Bo: another unit. It said: worn ring"));
  EXPECT_THAT(told, HasSubstr("standing: release."));
}

TEST_F(UnitFacts, ATestATextAndAWithdrawalCannotBeWithdrawn) {
  const auto refused = [&](const std::string& position) {
    const Ended ended = say({"withdraw", position, "--why", "w", "--by", "Bo"});
    EXPECT_EQ(ended.status, 2) << position;
    EXPECT_THAT(ended.err, HasSubstr("Nothing was kept."));
    return ended.err;
  };
  const schema::Position test = reader().records_of(kUnit).front().position;
  EXPECT_THAT(refused(std::to_string(test)), HasSubstr("What was measured stays"));
  EXPECT_THAT(refused(std::to_string(test - 1)), HasSubstr("What was measured stays"));
  EXPECT_THAT(refused("999"), HasSubstr("Nothing is kept at position 999."));
  EXPECT_THAT(refused("x"), HasSubstr("not \"x\""));
  EXPECT_THAT(refused("1"), HasSubstr("was not entered by a person"));
  schema::Position text = 0, entry = 0;
  {
    schema::StoreWriter writer(folder_.path());
    text = writer.append(schema::Definition{.kind = "limits", .subject = "P1-60-12", .text = "x"});
    entry = writer.append(schema::Repair{.serial = kUnit, .finding = "reed", .by = "Ada"});
  }
  EXPECT_THAT(refused(std::to_string(text)), HasSubstr("Accept the text that is to hold."));
  ASSERT_EQ(say({"withdraw", std::to_string(entry), "--why", "w", "--by", "Bo"}).status, 0);
  EXPECT_THAT(refused(std::to_string(entry)), HasSubstr("was withdrawn before"));
  EXPECT_THAT(refused(std::to_string(reader().last_position())),
              HasSubstr("is itself a withdrawal"));
}

TEST_F(UnitFacts, WhatTookTwoPeopleTakesTwoToWithdraw) {
  ASSERT_EQ(say({"decide", kUnit, "scrap", "--reason", "dropped", "--by", "Ada"}).status, 0);
  const std::string position = std::to_string(reader().last_position());
  std::vector<std::string> one{"withdraw", position, "--why", "wrong label", "--by", "Ada"};
  EXPECT_THAT(say(one).err, HasSubstr("two different people"));
  one.insert(one.end(), {"--second", "Bo"});
  EXPECT_EQ(say(one).status, 0);
  EXPECT_THAT(say({"history", kUnit}).out, HasSubstr("standing: release."));
}

TEST_F(UnitFacts, ALotIsFollowedToItsUnits) {
  say({"lots", kUnit, "motor_number=M-77", "--by", "Ada"});
  const Ended ended = say({"where", "M-77"});
  EXPECT_EQ(ended.status, 0);
  EXPECT_THAT(ended.out, HasSubstr(kUnit));
  EXPECT_EQ(say({"where", "M-78"}).status, 1);
  EXPECT_THAT(say({"history", "M-77"}).err, HasSubstr("is a part of unit " + kUnit));
}

}  // namespace
}  // namespace endgate
