// The pages about many tests: what they say equals what the queries answer.

#include <gmock/gmock.h>

#include "daemon/line/control_history.h"
#include "daemon/queries/bench_offset.h"
#include "daemon/queries/capability_told.h"
#include "daemon/queries/population_words.h"
#include "daemon/queries/trend_told.h"
#include "daemon/queries/what_if.h"
#include "daemon/views/population_view.h"
#include "reports/node.h"
#include "reports/number.h"
#include "tests/reports/well_formed.h"
#include "tests/service/served.h"
#include "tests/support/batch_history.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;
using testing::Not;

const std::string kTrend = "/trends?model=P1-60-12&metric=fad_400";
const std::string kPopulation = "/population?model=P1-60-12";
constexpr double kLitresPerMinute = 60000;

class StatisticsPages : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    history_ = new BatchHistory;
    history_->make({.product_shift = -0.05});
  }
  static void TearDownTestSuite() { delete history_; }

  // Without the <!DOCTYPE> and void elements, so that the rest can be checked as XML.
  static std::string tree_of(std::string page) {
    page.erase(0, page.find("<html"));
    for (const char* empty : {"<meta", "<link", "<input"})
      for (std::size_t at = 0; (at = page.find(empty, at)) != std::string::npos;)
        page.erase(at, page.find('>', at) - at + 1);
    return page;
  }
  std::string get(const std::string& target) const { return served_.get(target); }
  std::string page(const std::string& target) const { return body_of(get(target)); }

  static inline BatchHistory* history_ = nullptr;
  Served served_{history_->folder().string()};
  const daemon::TrendFilter filter_{.model = "P1-60-12"};
};

TEST_F(StatisticsPages, TheTrendSaysWhoMovedAndWithWhatInTheWordsOfTheQuery) {
  const auto told = daemon::told_of(history_->reader(), filter_, "fad_400");
  const std::string text = page(kTrend);
  EXPECT_THAT(text, HasSubstr("<p class=\"say\">" + reports::escaped(sentence_of_side(*told))));
  EXPECT_THAT(text, HasSubstr(reports::escaped(sentence_of_causes(*told))));
  EXPECT_THAT(text, HasSubstr("140 tests in 14 batches, purpose production."));
  EXPECT_THAT(text, HasSubstr("Reed lot B"));
}

TEST_F(StatisticsPages, TheTrendDrawsEachChartAsMeasuredAndWithoutTheBench) {
  const std::string text = page(kTrend);
  for (const char* heading :
       {">Batch means<", "title=\"EWMA, lambda 0.1\">Running mean<", ">Running sum<"})
    EXPECT_THAT(text, HasSubstr(heading));
  EXPECT_THAT(text, HasSubstr("<td>b8</td>"));  // where the level changed
  EXPECT_THAT(text, HasSubstr("As measured: signal at batch"));
  EXPECT_THAT(text, HasSubstr("Bench effect taken out: signal at batch"));
  EXPECT_THAT(text, HasSubstr(">Drift of the benches<"));
  const auto told = daemon::told_of(history_->reader(), filter_, "fad_400");
  for (const daemon::BenchOffset& offset : daemon::bench_offsets(*told))
    EXPECT_THAT(text, HasSubstr("<p>" + reports::escaped(daemon::words_of(*told, offset))));
}

TEST_F(StatisticsPages, FewBatchesGetNoLimitsAndNoWordOfBrokenRules) {
  BatchHistory history;
  history.make({.batches = 3});
  history.keep("LOOSE", "", "north", "production", 1, 2e-4);
  const Served served(history.folder().string());
  const std::string text = body_of(served.get(kTrend));
  EXPECT_THAT(text, HasSubstr("30 tests in 3 batches"));
  EXPECT_THAT(text, HasSubstr("1 test without a batch is on no chart and judged nowhere."));
  EXPECT_THAT(text, HasSubstr("limits need at least 10 batches"));
  EXPECT_THAT(text, Not(HasSubstr("No rule in force is broken")));
  EXPECT_THAT(text, Not(HasSubstr("Alone, one false signal")));
  EXPECT_THAT(text, Not(HasSubstr(">Running sum<")));
  EXPECT_THAT(text, Not(HasSubstr("no batch<")));
}

TEST_F(StatisticsPages, TheTrendsNumbersAreThoseOfTheQuery) {
  const auto told = daemon::told_of(history_->reader(), filter_, "fad_400");
  const std::string text = page(kTrend);
  for (std::size_t i = 0; i < told->batches.size(); ++i)
    EXPECT_THAT(
        text, HasSubstr("<td>" + told->batches[i].batch + "</td><td>10</td><td>" +
                        reports::fixed(told->batches[i].mean * kLitresPerMinute, 2) + "</td><td>" +
                        reports::fixed(told->control.batches[i].running * kLitresPerMinute, 2)));
}

TEST_F(StatisticsPages, TheTrendSaysWhoseLimitsRuleWhichRuleIsBrokenAndHowOftenThatIsFalse) {
  const std::string text = page(kTrend);
  EXPECT_THAT(text, HasSubstr(">Control limits and signals<"));
  EXPECT_THAT(text, HasSubstr("Control limits are computed from the batches shown"));
  EXPECT_THAT(text, HasSubstr("limits from fewer than 20 batches are too uncertain for a figure"));
  EXPECT_THAT(text, HasSubstr("What to do next"));
  EXPECT_EQ(status_of(get(kTrend + "&together=fad_999")), 400);
}

TEST_F(StatisticsPages, WhatLooksAtEveryTestIsComputedOnlyWhenAsked) {
  const std::string text = page(kTrend);
  EXPECT_THAT(text, HasSubstr("&amp;together=curve\">Several metrics together</a>"));
  EXPECT_THAT(text, Not(HasSubstr("metrics together need")));
  EXPECT_THAT(page(kTrend + "&together=curve"),
              HasSubstr("3 metrics together need 20 batches; here are 0."));
  EXPECT_THAT(page(kPopulation), HasSubstr("&amp;returns=shown#returns\">Which units come back"));
  EXPECT_THAT(page(kPopulation), Not(HasSubstr("Came back of all released units")));
  const std::string shown = page(kPopulation + "&returns=shown");
  EXPECT_THAT(shown, HasSubstr("Came back of all released units"));
  EXPECT_THAT(shown, HasSubstr("name=\"returns\" value=\"shown\""));
}

TEST_F(StatisticsPages, MeansAreNotSaidToBeInsideWhereNoRuleJudgesThem) {
  BatchHistory history;
  history.make({.batches = 24, .product_shift = -0.05, .shift_from = 21});
  auto frozen = daemon::freeze_control(
      history.reader(), {.tests = filter_,
                         .metric = "fad_400",
                         .first_batch = "b0",
                         .last_batch = "b20",
                         .rules = statistics::ControlRules(statistics::ControlRule::running_sum)});
  ASSERT_TRUE(std::holds_alternative<daemon::ControlFacts>(frozen));
  history.accept({.kind = "control",
                  .subject = "P1-60-12 fad_400",
                  .text = text_of(std::get<daemon::ControlFacts>(frozen)),
                  .by = "Ada",
                  .why = "settled"});
  const Served served(history.folder().string());
  const std::string text = body_of(served.get(kTrend));
  EXPECT_THAT(text,
              HasSubstr("As measured: single means are not judged; the rule is not in force"));
  EXPECT_THAT(text, Not(HasSubstr("As measured: all 3 judged inside")));
}

TEST_F(StatisticsPages, FrozenLimitsRuleBatchesAndSingleUnitsBehindThem) {
  BatchHistory history;
  history.make({.batches = 24});
  const auto frozen = daemon::freeze_control(
      history.reader(),
      {.tests = filter_, .metric = "fad_400", .first_batch = "b0", .last_batch = "b20"});
  ASSERT_TRUE(std::holds_alternative<daemon::ControlFacts>(frozen));
  history.accept({.kind = "control",
                  .subject = "P1-60-12 fad_400",
                  .text = text_of(std::get<daemon::ControlFacts>(frozen)),
                  .by = "Ada",
                  .why = "settled"});
  const Served served(history.folder().string());
  EXPECT_THAT(body_of(served.get(kTrend)), HasSubstr("by Ada from 21 batches b0 to b20 (settled)"));
  const std::string units = body_of(served.get(kTrend + "&by=unit"));
  EXPECT_THAT(units, HasSubstr("Control limits of one unit, version 1: "));
  EXPECT_THAT(units, HasSubstr("Of 30 tests behind them "));
}

TEST_F(StatisticsPages, WhereNothingStandsOutNoCauseIsListed) {
  BatchHistory quiet;
  quiet.make({});
  const Served served(quiet.folder().string());
  const std::string text = body_of(served.get(kTrend));
  EXPECT_THAT(text, HasSubstr("Nothing moved beyond chance in 14 batches."));
  EXPECT_THAT(text, Not(HasSubstr("What changed with it")));
}

TEST_F(StatisticsPages, TheTrendTakesItsFiltersFromTheAddress) {
  EXPECT_THAT(page(kTrend + "&bench=south&since=2026-01-03"),
              HasSubstr("60 tests in 12 batches, purpose production, bench south, since "
                        "2026-01-03."));
  EXPECT_THAT(
      page(kTrend + "&until=2026-01-04&lot=reed%3DA"),
      HasSubstr("40 tests in 4 batches, purpose production, until 2026-01-04, lot reed=A."));
  EXPECT_THAT(page(kTrend + "&lot=C"), HasSubstr("name=\"lot\" value=\"C\""));
  EXPECT_THAT(page(kPopulation + "&lot=B"), HasSubstr("type=\"hidden\" name=\"lot\" value=\"B\""))
      << "a draft is asked of the same tests";
  EXPECT_THAT(page(kTrend + "&purpose=all"),
              HasSubstr("140 tests in 14 batches, all purposes."));  // not checks
  EXPECT_THAT(page(kTrend + "&purpose=lab"), HasSubstr("No test of P1-60-12 with this metric"));
  const std::string units = page(kTrend + "&by=unit&batch=b3");
  EXPECT_THAT(units, HasSubstr("10 tests, purpose production, batch b3; mean"));
  EXPECT_THAT(units, HasSubstr("href=\"/units/b3-9/1\""));
}

TEST_F(StatisticsPages, AWrongQuestionNamesWhatIsWrongAndWhatThereIs) {
  for (const auto& [more, words] :
       {std::pair("model=P9", "There is no model P9 here. There are: P1-60-12."),
        std::pair("metric=no", "There is no metric no here. There are: fad_0, fad_200"),
        std::pair("bench=west", "There is no bench west here. There are: north, south."),
        std::pair("purpose=fun", "There is no purpose fun here. There are: production, retest")})
    for (const char* address : {"/trends?", "/population?"}) {
      const std::string answer = get(std::string(address) + more);
      EXPECT_EQ(status_of(answer), 404) << address << more;
      EXPECT_THAT(answer, HasSubstr(words));
      EXPECT_THAT(answer, HasSubstr("<form"));  // asked again at once
    }
  const std::string day = get(kTrend + "&since=2026-02-30");
  EXPECT_EQ(status_of(day), 400);
  EXPECT_THAT(day, HasSubstr("Since &quot;2026-02-30&quot; is no day."));
  EXPECT_EQ(status_of(get(kTrend + "&by=bench")), 400);
}

TEST_F(StatisticsPages, AnEmptyStoreSaysSo) {
  const TemporaryFolder folder;
  { const schema::StoreWriter writer(folder.path()); }
  const Served served(folder.path().string());
  for (const char* address : {"/trends", "/population"}) {
    const std::string answer = served.get(address);
    EXPECT_EQ(status_of(answer), 200);
    EXPECT_THAT(answer, HasSubstr("No test is kept yet."));
  }
}

TEST_F(StatisticsPages, ThePopulationsNumbersAreThoseOfTheQueries) {
  const std::string text = page(kPopulation);
  const auto fit = daemon::capability_of(history_->reader(), filter_, "fad_400");
  ASSERT_TRUE(fit->centred_overall);
  const auto index = [](const statistics::Index& one) {
    return reports::fixed(one.value, 2) + "<div class=\"quiet small\">" +
           reports::fixed(one.interval.low, 2) + " to " + reports::fixed(one.interval.high, 2);
  };
  EXPECT_THAT(text, HasSubstr(index(*fit->centred_overall)));
  EXPECT_THAT(text, HasSubstr(index(*fit->centred_within)));
  const daemon::YieldTold yield = daemon::yield_of(history_->reader(), filter_);
  EXPECT_THAT(text, HasSubstr("Passed at the first test: " + share_words(yield.first_pass)));
  EXPECT_THAT(text, HasSubstr("below its lower limit"));
  EXPECT_THAT(text, HasSubstr(share_words(yield.reasons.front().units)));
  EXPECT_THAT(text, HasSubstr(">Worn piston ring<"));
}

TEST_F(StatisticsPages, ADraftLimitSaysHowManyWouldChangeAsTheQueryDoes) {
  const auto answer = daemon::what_if(history_->reader(), filter_,
                                      {.metric = "fad_400", .lower = 46.0 / kLitresPerMinute});
  ASSERT_TRUE(answer);
  ASSERT_GT(answer->changed.count, 0);
  const std::string text = page(kPopulation + "&metric=fad_400&lower=46.0&upper=");
  EXPECT_THAT(text, HasSubstr("<p class=\"say\">" + std::to_string(answer->changed.count) +
                              " of 140 units would change: "));
  EXPECT_THAT(text, HasSubstr(share_words(answer->pass_after)));
  EXPECT_THAT(text, HasSubstr(">draft: at least 46.0</text>"));
  EXPECT_THAT(text, HasSubstr("href=\"/units/" + answer->serials.front() + "\""));
}

TEST_F(StatisticsPages, ADraftThatIsNoLimitIsNamedAndTheFieldsStay) {
  for (const auto& [fields, words] :
       {std::pair("lower=44,5&upper=", "At least &quot;44,5&quot; is not a number."),
        std::pair("lower=&upper=1e3", "At most &quot;1e3&quot; is not a number."),
        std::pair("lower=50&upper=45", "At least 50 leaves nothing below at most 45.")}) {
    const std::string answer = get(kPopulation + "&metric=fad_400&" + fields);
    EXPECT_EQ(status_of(answer), 400) << fields;
    EXPECT_THAT(answer, HasSubstr(words));
  }
  EXPECT_THAT(get(kPopulation + "&metric=fad_400&lower=44,5"), HasSubstr("value=\"44,5\""));
  EXPECT_THAT(page(kPopulation + "&metric=back_leak&upper=1"),
              HasSubstr("that matches has a value of"));
}

TEST_F(StatisticsPages, AreWellFormedAndEscapeWhatWasAsked) {
  for (const std::string& target :
       {kTrend, kTrend + "&by=unit", kPopulation, kPopulation + "&lower=46",
        std::string("/trends?model=%3Cb%3E%26"), std::string("/population?since=%22%3E%3Cimg")}) {
    const std::string text = page(target);
    EXPECT_EQ(wrong_in_markup(tree_of(text)), "") << target;
    for (const char* banned : {"<img", "<b>", " style=", "<style"})
      EXPECT_THAT(text, Not(HasSubstr(banned))) << target;
  }
}

TEST(ReasonWords, SayTheMetricOrTheChannelAndWhatIsWrongWithIt) {
  EXPECT_EQ(daemon::reason_words("above_upper", "seal_leak"),
            "Housing-seal leak above its upper limit");
  EXPECT_EQ(daemon::reason_words("trip_unit", "supply_current"),
            "Over-limit that accuses the unit: supply current");
  EXPECT_EQ(daemon::reason_words("no_limits", ""), "The limit set has no reject limit");
  EXPECT_EQ(daemon::reason_words("of_tomorrow", "x"), "of_tomorrow, x");
}

TEST_F(StatisticsPages, StandInTheNavigation) {
  EXPECT_THAT(page(kPopulation),
              HasSubstr("<a href=\"/population\" aria-current=\"page\">Population</a>"));
  EXPECT_THAT(page(kTrend), HasSubstr("<a href=\"/trends\" aria-current=\"page\">Trends</a>"));
}

}  // namespace
}  // namespace endgate::test
