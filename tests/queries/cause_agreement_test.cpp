// How often the likely cause is what people found.

#include "daemon/queries/cause_agreement.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <tuple>

#include "daemon/mapping/context_bytes.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

class Agreement : public testing::Test {
 protected:
  // A failed test that stated these groups of causes, then a repair.
  void unit(const std::string& serial, const std::vector<std::vector<std::string>>& stated,
            const std::string& finding) {
    test(serial, 1, "fail", stated, true);
    repair(serial, finding);
  }
  void test(const std::string& serial, std::int64_t attempt, const std::string& verdict,
            const std::vector<std::vector<std::string>>& stated, bool readable) {
    schema::Record record;
    record.start = endgate::test::made_start(serial, attempt);
    record.start_position = writer_.append(record.start);
    record.verdict = verdict;
    for (const auto& group : stated) record.causes.push_back({.causes = group});
    analysis::Context context;
    for (const auto& [id, name] : {std::pair("worn_ring", "Worn piston ring"),
                                   std::pair("bent_reed", "Bent reed"), std::pair("fan", "Fan")})
      context.causes.causes.push_back({.id = id, .name = name, .check = "", .levels = {}});
    record.context_bytes = context_bytes(context);
    if (!readable) record.context_bytes.resize(record.context_bytes.size() / 2);
    writer_.append(record, std::nullopt);
  }
  void repair(const std::string& serial, const std::string& finding, std::int64_t utc_ms = 0) {
    writer_.append(schema::Repair{
        .serial = serial, .finding = finding, .by = "Ada", .at = {.utc_ms = utc_ms}});
  }
  [[nodiscard]] CauseAgreement told(const std::string& model = "P1-60-12") const {
    return cause_agreement_of(schema::StoreReader(folder_), model);
  }
  endgate::test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST_F(Agreement, CountsTheFirstAndTheFirstTwoStatements) {
  unit("U1", {{"worn_ring"}, {"fan"}}, "worn_ring");
  unit("U2", {{"fan"}, {"bent_reed", "worn_ring"}}, "Worn piston ring");
  unit("U3", {{"fan"}, {"bent_reed"}, {"worn_ring"}}, "WORN-RING");
  unit("U4", {{"fan"}}, "Fan");
  const CauseAgreement all = told();
  EXPECT_EQ(all.first.of, 4);
  EXPECT_EQ(all.first.count, 2);
  EXPECT_EQ(all.among_two.count, 3);
  ASSERT_EQ(all.rows.size(), 2U);
  EXPECT_EQ(all.rows[0].found, "Worn piston ring");
  EXPECT_EQ(all.rows[0].first.count, 1);
  EXPECT_EQ(all.rows[0].among_two.count, 2);
}

TEST_F(Agreement, IsToldByQuarterOfTheRepair) {
  constexpr std::int64_t kMarch31 = 1774915200000, kDay = 86400000;  // 2026-03-31 00:00 UTC
  for (const auto& [serial, cause, utc_ms] :
       {std::tuple("U1", "fan", kMarch31), std::tuple("U2", "worn_ring", kMarch31 + kDay - 1),
        std::tuple("U3", "fan", kMarch31 + kDay)}) {
    test(serial, 1, "fail", {{"fan"}}, true);
    repair(serial, cause, utc_ms);
  }
  const CauseAgreement all = told();
  ASSERT_EQ(all.quarters.size(), 2U);
  EXPECT_EQ(name_of(all.quarters[0]), "2026, January to March");
  EXPECT_EQ(all.quarters[0].first.count, 1);
  EXPECT_EQ(all.quarters[0].first.of, 2);
  EXPECT_EQ(name_of(all.quarters[1]), "2026, April to June");
  EXPECT_EQ(all.quarters[1].first.count, 1);
  EXPECT_THAT(words_of(all).back(), HasSubstr("Repairs of 2026, April to June: stated first 100"));
}

TEST_F(Agreement, WhatIsNotOfTheListOrHadNoStatementIsCountedApart) {
  unit("U1", {{"fan"}}, "dropped on the floor");
  unit("U2", {}, "fan");
  const CauseAgreement all = told();
  EXPECT_EQ(all.repairs, 2);
  EXPECT_EQ(all.in_words, 1);
  EXPECT_EQ(all.not_stated, 1);
  EXPECT_EQ(all.found.at("fan"), 1);  // what was found counts without a statement
  EXPECT_EQ(all.found.size(), 1U);
  EXPECT_EQ(all.first.of, 0);
  EXPECT_THAT(words_of(all).front(),
              HasSubstr("Repairs: 2. Finding not of the list of causes: 1."));
  EXPECT_EQ(words_of(all).size(), 1U);
}

TEST_F(Agreement, AStatementBeforeAnEarlierRepairOrAPassIsAboutAnotherFault) {
  unit("U1", {{"fan"}}, "fan");
  repair("U1", "worn_ring");
  unit("U2", {{"fan"}}, "fan");
  test("U2", 2, "fail", {{"worn_ring"}}, true);
  test("U2", 3, "pass", {}, true);
  repair("U2", "worn_ring");
  const CauseAgreement all = told();
  EXPECT_EQ(all.repairs, 4);
  EXPECT_EQ(all.not_stated, 2);
  EXPECT_EQ(all.first.of, 2);
  EXPECT_EQ(all.first.count, 2);
}

TEST_F(Agreement, AListThatCannotBeReadIsCountedApart) {
  test("U1", 1, "fail", {{"fan"}}, false);
  repair("U1", "fan");
  EXPECT_EQ(told().unreadable, 1);
  EXPECT_EQ(told().in_words, 0);
  EXPECT_THAT(agreement_words(told()), HasSubstr("List of causes not readable: 1."));
}

TEST_F(Agreement, LooksAtTheNewestRepairsAndSaysHowManyItDidNot) {
  unit("U1", {{"fan"}}, "fan");
  unit("U2", {{"fan"}}, "fan");
  const CauseAgreement newest = cause_agreement_of(schema::StoreReader(folder_), "", 1);
  EXPECT_EQ(newest.repairs, 1);
  EXPECT_THAT(agreement_words(newest), HasSubstr("not looked at: 1."));
}

TEST_F(Agreement, ARepairWithoutTestOrOfAnotherModelOrWithdrawnDoesNotCount) {
  writer_.append(schema::Repair{.serial = "U9", .finding = "fan"});
  unit("U1", {{"fan"}}, "fan");
  EXPECT_EQ(told().repairs, 1);
  EXPECT_EQ(told("P1-20-12").repairs, 0);
  EXPECT_EQ(told("").repairs, 1);
  const auto position = schema::StoreReader(folder_).last_repair_position("U1");
  writer_.append(schema::Withdrawal{.withdrawn = position, .why = "U2", .by = "Ada"});
  EXPECT_EQ(told().repairs, 0);
}

}  // namespace
}  // namespace endgate::daemon
