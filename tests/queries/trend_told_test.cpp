// What batches, capability, yield and what-if tell of a store whose history is known.

#include "daemon/queries/trend_told.h"

#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "analysis/reason_codes.h"
#include "daemon/queries/population_words.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;
using testing::Not;

struct Said {
  std::string serial{}, verdict = "pass", batch = "b0", bench = "north", purpose = "production";
  std::int64_t attempt = 1;
  double fad_400 = 8e-4;
  std::optional<double> current_600{};  // of no limit
  analysis::BreakOff broken_off = analysis::BreakOff::none;
};

// As daemon/mapping/record_of.h writes it.
std::string word_in_record(analysis::BreakOff cause) {
  if (cause == analysis::BreakOff::none) return "";
  return std::string(analysis::code_of(cause).substr(std::string_view("broken_off_").size()));
}

class History {
 public:
  void keep(const Said& said) {
    schema::TestStart start = test::made_start(said.serial, said.attempt);
    start.batch = said.batch;
    start.bench = said.bench;
    start.purpose = said.purpose;
    schema::Record record;
    record.start_position = writer_.append(start);
    record.start = start;
    record.verdict = said.verdict;
    record.break_off = word_in_record(said.broken_off);
    record.standing = "hold";
    record.metrics = {test::made_metric("fad_400", said.fad_400)};
    if (said.current_600)
      record.metrics.push_back(test::made_metric("current_600", *said.current_600));
    record.limits = {{.metric = "fad_400",
                      .lower = 7e-4,
                      .pass_band = 1.645 * 0.01 * said.fad_400,
                      .fail_band = 1.645 * 0.01 * said.fad_400,
                      .outcome = said.verdict}};
    if (said.verdict == "fail") record.reasons = {{"below_lower", "fad_400", "flow is low"}};
    record.context_ids = {"calibration " + said.bench + "@1", "limits P1-60-12@1"};
    writer_.append(std::move(record), std::nullopt);
  }
  // Fourteen batches, five units each on two benches; `shift` from batch 8 on with the reed lot B.
  void make(double shift) {
    std::mt19937 random(4);
    std::normal_distribution<double> normal(0, 1);
    for (int batch = 0; batch < 14; ++batch) {
      const std::string name = "b" + std::to_string(batch);
      for (int unit = 0; unit < 10; ++unit)
        keep({.serial = name + "-" + std::to_string(unit),
              .batch = name,
              .bench = unit % 2 == 0 ? "north" : "south",
              .fad_400 = 8e-4 * (1 + 0.01 * normal(random) + (batch >= 8 ? shift : 0))});
      writer_.append(schema::Lots{.subject_kind = "batch",
                                  .subject = name,
                                  .parts = {{"reed", batch >= 8 ? "B" : "A"}},
                                  .by = "Ada"});
      keep({.serial = "R1", .batch = "", .purpose = "reference", .attempt = batch + 1});
    }
  }
  [[nodiscard]] schema::StoreReader reader() const { return schema::StoreReader(folder_.path()); }

 private:
  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST(TrendTold, ALotThatWentWrongIsNamedWithItsSize) {
  History history;
  history.make(-0.05);
  const auto told = told_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  ASSERT_TRUE(told);
  EXPECT_EQ(told->tests, 140U);
  EXPECT_THAT(sentence_of_causes(*told), HasSubstr("reed lot B"));
  EXPECT_NEAR(told->causes.causes.front().shift, -4e-5, 4 * told->causes.causes.front().u);
  EXPECT_THAT(sentence_of_side(*told), HasSubstr("since batch b8"));
  EXPECT_FALSE(told->control.signals_of(statistics::ControlRule::running_mean).empty());
}

TEST(TrendTold, NothingIsSaidWhenNothingMoved) {
  History history;
  history.make(0);
  const auto told = told_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_EQ(sentence_of_side(*told), "Nothing moved beyond chance in 14 batches.");
  EXPECT_EQ(sentence_of_causes(*told), "No recorded cause stands out beyond chance.");
}

TEST(TrendTold, TestsWithoutABatchAreCountedAndOnNoChart) {
  History history;
  history.keep({.serial = "Z", .batch = "", .fad_400 = 1e-4});
  history.make(0);
  for (int i = 0; i < 3; ++i)
    history.keep({.serial = "N" + std::to_string(i), .batch = "", .fad_400 = 1e-4});
  const auto told = told_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_EQ(told->tests, 140U);
  EXPECT_EQ(told->without_batch, 4U);
  ASSERT_EQ(told->batches.size(), 14U);
  EXPECT_EQ(told->batches.front().batch, "b0");
  EXPECT_EQ(sentence_of_side(*told), "Nothing moved beyond chance in 14 batches.");
  EXPECT_EQ(sentence_without_batch(*told),
            "4 tests without a batch are on no chart and judged nowhere.");
}

TEST(TrendTold, AFewUnitsFarFromAllOthersAreCountedAndHideNoLot) {
  History history;
  history.make(-0.03);
  for (const char* odd : {"ODD1", "ODD2"})
    history.keep({.serial = odd, .verdict = "fail", .batch = "b3", .fad_400 = 1e-4});
  const auto told = told_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_EQ(told->tests, 142U);
  EXPECT_EQ(told->far, 2U);
  EXPECT_EQ(told->batches[3].n, 12) << "the charts hide nobody";
  EXPECT_THAT(sentence_of_causes(*told), HasSubstr("reed lot B"));
  EXPECT_EQ(sentence_of_far(*told),
            "2 tests far from all others are on the charts and not asked for causes.");
}

TEST(TrendTold, WithoutRepeatsNoBenchEffectIsTakenOutAndThatIsSaid) {
  History history;
  for (int batch = 0; batch < 24; ++batch)
    for (const std::string bench : {"north", "south"})
      history.keep({.serial = bench + std::to_string(batch),
                    .batch = "b" + std::to_string(batch),
                    .bench = bench,
                    .fad_400 = 8e-4 + 1e-6 * (batch % 5)});
  const auto told = told_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_FALSE(bench_taken_out(*told));
  EXPECT_THAT(sentence_of_side(*told), HasSubstr("no bench tested two units of one batch"));
}

TEST(TrendTold, AnEmptyStoreIsTooFewAndAnUnknownMetricIsNothing) {
  History history;
  history.keep({.serial = "A"});
  const auto told = told_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_THAT(sentence_of_causes(*told), HasSubstr("1 batch; change points need 10"));
  EXPECT_FALSE(told_of(history.reader(), {.model = "P1-60-12"}, "fad_401"));
  EXPECT_EQ(told_of(history.reader(), {.model = "P1-20-12"}, "fad_400")->tests, 0U);
}

TEST(Capability, BatchesThatDifferLeaveFewerIndependentUnits) {
  History history;
  history.make(-0.05);
  const auto told = capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  ASSERT_TRUE(told);
  EXPECT_EQ(told->values.size(), 140U);
  EXPECT_EQ(told->batches, 14U);
  EXPECT_LT(told->effective_n, 40);
  EXPECT_LT(told->sigma_within, told->sigma_overall);
  EXPECT_NEAR(told->centred_within->value, (told->mean - 7e-4) / (3 * told->sigma_within), 1e-12);
  EXPECT_FALSE(told->spread_within) << "one limit has no width";
  EXPECT_TRUE(told->proposed_lower);
  EXPECT_FALSE(told->proposed_upper);
  EXPECT_THAT(words_of(*told).front(), HasSubstr("140 units in 14 batches"));
}

TEST(Capability, AFewUnitsFarFromAllOthersAreNamedAndLeftOut) {
  History history;
  history.make(0);
  const auto before = capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  history.keep({.serial = "REVERSED", .verdict = "fail", .fad_400 = -9e-4});
  const auto told = capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  ASSERT_EQ(told->left_out.size(), 1U);
  EXPECT_EQ(told->left_out.front().serial, "REVERSED");
  EXPECT_EQ(told->values, before->values);
  EXPECT_EQ(told->centred_overall->value, before->centred_overall->value);
  EXPECT_LT(*told->centred_with_all, before->centred_overall->value / 2);
  const std::string said = testing::PrintToString(words_of(*told));
  EXPECT_THAT(said, HasSubstr("Far from all others"));
  EXPECT_THAT(said, HasSubstr("Held against the limits of the newest test: at least 42"));
}

// Delivery with a tail of weak units: the normal form would promise more room than there is.
TEST(Capability, RoomIsToldByASkewFormWhereValuesAreSkewAndByNoSecondFigureElsewhere) {
  History even;
  even.make(0);
  const auto plain = capability_of(even.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_FALSE(plain->percentile);
  EXPECT_THAT(testing::PrintToString(words_of(*plain)), Not(HasSubstr("percentiles")));
  History weak;
  for (int i = 0; i < 100; ++i)
    weak.keep({.serial = "U" + std::to_string(i),
               .batch = "b" + std::to_string(i % 5),
               .fad_400 = 8e-4 - 3e-5 * std::pow(i * 37 % 100 / 100.0, 8)});
  const auto skew = capability_of(weak.reader(), {.model = "P1-60-12"}, "fad_400");
  ASSERT_TRUE(skew->percentile);
  EXPECT_LT(*skew->percentile, 0.8 * skew->centred_overall->value);
  EXPECT_THAT(testing::PrintToString(words_of(*skew)), HasSubstr("skew form"));
}

// Mean less some standard deviations would cut off nothing of a long tail.
TEST(Capability, LimitsForSkewValuesComeFromTheirOrderOrNotAtAll) {
  const auto weak = [](int units) {
    History history;
    for (int i = 0; i < units; ++i)
      history.keep({.serial = "U" + std::to_string(i),
                    .batch = "b" + std::to_string(i % 5),
                    .fad_400 = 8e-4 - 3e-5 * std::pow(i * 37 % units / (1.0 * units), 8)});
    return *capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  };
  const CapabilityTold few = weak(100), enough = weak(400);
  ASSERT_TRUE(few.skew && enough.skew);
  EXPECT_FALSE(few.proposed_lower);
  EXPECT_THAT(testing::PrintToString(words_of(few)), HasSubstr("too few units to take it from"));
  ASSERT_TRUE(enough.proposed_lower);
  EXPECT_EQ(*enough.proposed_lower, *std::ranges::min_element(enough.values))
      << "of 400 units the smallest is the one that holds for 99 % with 95 % confidence";
  EXPECT_FALSE(enough.proposed_upper);
  EXPECT_THAT(testing::PrintToString(words_of(enough)), HasSubstr("by the order of the values"));
}

TEST(Capability, UnitsOfNoBatchCountInNoScatterInsideBatches) {
  History history;
  history.make(0);
  const auto before = capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  for (int i = 0; i < 20; ++i)
    history.keep(
        {.serial = "N" + std::to_string(i), .batch = "", .fad_400 = 8e-4 + 2e-6 * (i - 9)});
  const auto told = capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_EQ(told->values.size(), 160U);
  EXPECT_EQ(told->batches, 14U);
  EXPECT_EQ(told->without_batch, 20U);
  EXPECT_NEAR(told->sigma_within, before->sigma_within, 1e-12);
  EXPECT_THAT(words_of(*told).front(),
              HasSubstr("160 units in 14 batches, first tests; 20 of them of no batch."));
}

TEST(Capability, ManyUnitsFarFromTheOthersAreTheProcessAndStay) {
  History history;
  history.make(0);
  for (int i = 0; i < 20; ++i)
    history.keep({.serial = "F" + std::to_string(i), .verdict = "fail", .fad_400 = 1e-4});
  const auto told = capability_of(history.reader(), {.model = "P1-60-12"}, "fad_400");
  EXPECT_TRUE(told->left_out.empty());
  EXPECT_EQ(told->values.size(), 160U);
}

TEST(Yield, CountsUnitsByTheirFirstTestAndShowsWhatPassedLater) {
  History history;
  history.keep({.serial = "A"});
  history.keep({.serial = "B", .verdict = "fail", .fad_400 = 6e-4});
  history.keep({.serial = "B", .purpose = "retest", .attempt = 2});
  history.keep({.serial = "C", .verdict = "void"});
  history.keep({.serial = "C", .verdict = "undecided", .attempt = 2});
  const YieldTold told = yield_of(history.reader(), {.model = "P1-60-12"});
  EXPECT_EQ(told.first_pass.count, 1);
  EXPECT_EQ(told.first_pass.of, 3);
  EXPECT_EQ(told.final_pass.count, 2);
  EXPECT_EQ(told.void_tests.count, 1);
  EXPECT_EQ(told.void_tests.of, 5);
  EXPECT_EQ(told.passed_after_fail.count, 1);
  ASSERT_EQ(told.reasons.size(), 1U);
  EXPECT_EQ(told.reasons.front().subject, "fad_400");
}

// The list finds people who stop what would fail; nothing else may stand in it.
TEST(Yield, OnlyAStopByAPersonIsHeldAgainstAPerson) {
  using analysis::BreakOff;
  History history;
  for (int cause = 1; cause <= static_cast<int>(BreakOff::ended_by_service); ++cause)
    history.keep({.serial = "U" + std::to_string(cause),
                  .verdict = "void",
                  .broken_off = static_cast<BreakOff>(cause)});
  const YieldTold told = yield_of(history.reader(), {.model = "P1-60-12"});
  ASSERT_EQ(told.stops.size(), 1U);
  EXPECT_EQ(told.stops.front().stopped.count, 1);
  EXPECT_EQ(told.stops.front().stopped.of, 11);
}

TEST(WhatIf, AStricterLimitFailsTheUnitsItLeavesBehind) {
  History history;
  for (int i = 0; i < 10; ++i)
    history.keep({.serial = "U" + std::to_string(i), .fad_400 = (7.5 + 0.1 * i) * 1e-4});
  const auto answer = what_if(history.reader(), {.model = "P1-60-12"},
                              {.metric = "fad_400", .lower = 8.05e-4, .upper = std::nullopt});
  ASSERT_TRUE(answer);
  // The guard band is 1.645 u, u 1 %: about 0.13e-4 to either side of 8.05e-4.
  EXPECT_EQ(answer->changed.count, 7);
  EXPECT_EQ((answer->from_to.at({"pass", "fail"})), 5);
  EXPECT_EQ((answer->from_to.at({"pass", "undecided"})), 2);
  EXPECT_EQ(answer->pass_after.count, 3);
  const auto same = what_if(history.reader(), {.model = "P1-60-12"},
                            {.metric = "fad_400", .lower = 7e-4, .upper = std::nullopt});
  EXPECT_EQ(same->changed.count, 0);
  EXPECT_FALSE(what_if(history.reader(), {.model = "P1-60-12"},
                       {.metric = "seal_leak", .lower = 0, .upper = std::nullopt}));
  EXPECT_EQ(answer->without_limit, 0);
}

TEST(WhatIf, AMetricWithoutALimitIsHeldAgainstItsFirstOne) {
  History history;
  for (int i = 0; i < 10; ++i)
    history.keep({.serial = "U" + std::to_string(i),
                  .verdict = i == 9 ? "fail" : "pass",
                  .current_600 = 3 + 0.1 * i});
  history.keep({.serial = "NOT-MEASURED"});
  const auto answer = what_if(history.reader(), {.model = "P1-60-12"},
                              {.metric = "current_600", .lower = std::nullopt, .upper = 3.45});
  ASSERT_TRUE(answer);
  EXPECT_EQ(answer->changed.of, 10);
  EXPECT_EQ(answer->without_limit, 10);
  // The usual guard band, 1.645 u with u 1 %, is about 0.057: 3.4 lies inside it, 3.5 outside 3.45 alone.
  EXPECT_EQ((answer->from_to.at({"pass", "undecided"})), 2);
  EXPECT_EQ((answer->from_to.at({"pass", "fail"})), 3);
  EXPECT_EQ(answer->pass_before.count, 9);
  EXPECT_EQ(answer->pass_after.count, 4);
  EXPECT_THAT(words_of(*answer, "current_600").back(),
              HasSubstr("held against no limit on it then"));
}

}  // namespace
}  // namespace endgate::daemon
