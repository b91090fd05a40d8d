// Studies, the curve of a data sheet and the lab's questions, as JSON and as pages.

#include <gmock/gmock.h>

#include "daemon/queries/rating_told.h"
#include "reports/node.h"
#include "tests/reports/well_formed.h"
#include "tests/service/page_tree.h"
#include "tests/service/served.h"
#include "tests/support/batch_history.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;
using testing::Not;

class Studied : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    history_ = new BatchHistory;
    history_->make({});
    for (int i = 0; i < 36; ++i)
      history_->keep("L" + std::to_string(i % 6), "", i / 6 % 2 == 0 ? "north" : "south", "lab",
                     1 + i / 6, 8e-4 + 1e-5 * (i % 6) + 1e-6 * (i * 7919 % 5));
    for (int i = 0; i < 8; ++i)
      history_->keep("W1", "", "north", "lab", i + 1, 8e-4 - 1e-6 * i + 1e-7 * (i * 5 % 3));
  }
  static void TearDownTestSuite() { delete history_; }
  std::string json(const std::string& target) const { return body_of(get(target)); }
  std::string get(const std::string& target) const { return served_.get(target); }
  std::string tree(const std::string& target) const { return tree_of(json(target)); }

  static inline BatchHistory* history_ = nullptr;
  Served served_{history_->folder().string()};
};

TEST_F(Studied, TheGaugeStudyIsNumbersInSiWithIntervals) {
  const std::string told =
      json("/api/v1/gauge?model=P1-60-12&metric=fad_400&units=L0,L1,L2,L3,L4,L5");
  EXPECT_THAT(told, HasSubstr("\"measurement\":{\"sigma_si\":"));
  EXPECT_THAT(told, HasSubstr("\"places\":[\"north\",\"south\"]"));
  EXPECT_THAT(told, HasSubstr("\"pairs\":[{\"first\":\"north\",\"second\":\"south\""));
  const std::string one = json(
      "/api/v1/gauge?model=P1-60-12&metric=fad_400&units=L0&bench=north&known_si=0.0008&"
      "width_si=0.0001");
  EXPECT_THAT(one, HasSubstr("\"study\":{\"tests\":3,\"bias_si\":"));
  EXPECT_THAT(one, HasSubstr("\"convention\":\"0.2 width / 6 sigma"));
}

TEST_F(Studied, WhatCannotBeStudiedSaysWhy) {
  EXPECT_THAT(json("/api/v1/gauge?model=P1-60-12&metric=fad_400"),
              HasSubstr("\"study\":null,\"none_because\":\"each unit needs the same number"));
  EXPECT_EQ(status_of(get("/api/v1/gauge?metric=fad_400")), 400);
  EXPECT_EQ(status_of(get("/api/v1/gauge?model=P1-60-12&metric=no")), 404);
  EXPECT_EQ(status_of(get("/api/v1/gauge?model=P1-60-12&metric=fad_400&known_si=x&units=L0")), 400);
}

TEST_F(Studied, TheGaugePageSaysWhatTheQuerySaysAndDrawsEveryTest) {
  const std::string page = tree("/gauge?model=P1-60-12&metric=fad_400&units=L0,L1,L2,L3,L4,L5");
  EXPECT_THAT(page, HasSubstr("<p class=\"say\">Of all variance "));
  EXPECT_THAT(page, HasSubstr("Repeats, one unit at one bench"));
  EXPECT_THAT(page, HasSubstr("Bench against bench"));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_THAT(page, Not(HasSubstr("nan")));
  EXPECT_EQ(status_of(get("/gauge?model=P1-60-12&metric=fad_400&repeats=1")), 400);
  EXPECT_THAT(tree("/gauge?model=P1-60-12&metric=fad_400&units=L0&bench=north&known=48"),
              HasSubstr("known value"));
}

TEST_F(Studied, TheCurveOfADataSheetIsThatOfTheQuery) {
  const auto told = daemon::rating_of(history_->reader(), {.model = "P1-60-12"}, {.share = 0.95});
  const std::string page = tree("/rating?model=P1-60-12&share=95");
  EXPECT_THAT(page, HasSubstr(reports::escaped(daemon::rating_words(told))));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_THAT(json("/api/v1/rating?model=P1-60-12&share=95"),
              HasSubstr("\"points\":[{\"pressure_gauge_pa\":400000.0"));
  EXPECT_EQ(status_of(get("/api/v1/rating?model=P1-60-12&share=100")), 400);
  EXPECT_EQ(status_of(get("/rating?model=P1-60-12&share=x")), 400);
  EXPECT_EQ(status_of(get("/rating?model=P9")), 404);
}

TEST_F(Studied, UnitsStandSideBySide) {
  EXPECT_THAT(json("/api/v1/compare?units=L0,L5"), HasSubstr("\"difference_to_first_si\":"));
  EXPECT_EQ(status_of(get("/api/v1/compare?units=L0")), 400);
  const std::string page = tree("/compare?units=L0,L5,Nobody");
  EXPECT_THAT(page, HasSubstr("There is no test of Nobody here"));
  EXPECT_THAT(page, HasSubstr("Standing of the unit now"));
  EXPECT_THAT(page, HasSubstr("Every metric"));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_EQ(status_of(get("/compare")), 200) << "the page to ask on";
}

TEST_F(Studied, OneUnitAsItRuns) {
  EXPECT_THAT(json("/api/v1/endurance?unit=W1&metric=fad_400&over=days"),
              HasSubstr("\"over\":\"days\""));
  EXPECT_EQ(status_of(get("/api/v1/endurance?unit=Nobody")), 404);
  const std::string page = tree("/endurance?unit=W1&metric=fad_400");
  EXPECT_THAT(page, HasSubstr("8 tests with a value"));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_EQ(status_of(get("/endurance")), 200);
}

TEST_F(Studied, ANameThatTheQuestionDoesNotKnowIsRefused) {
  for (const char* target : {"/api/v1/rating?model=P1-60-12&bogus=1",
                             "/api/v1/capability?model=P1-60-12&metrics=fad_400",
                             "/api/v1/gauge?model=P1-60-12&metric=fad_400&person=1",
                             "/api/v1/compare?unit=L0,L1", "/api/v1/endurance?serial=W1"}) {
    EXPECT_EQ(status_of(get(target)), 400) << target;
    EXPECT_THAT(json(target), HasSubstr("This question knows no")) << target;
  }
}

TEST_F(Studied, AUnitAndTheTrendsLeadThere) {
  const std::string unit = tree("/units/W1");
  EXPECT_THAT(unit, HasSubstr("/compare?units=W1"));
  EXPECT_THAT(unit, HasSubstr("/endurance?unit=W1"));
  const std::string trend = tree("/trends?model=P1-60-12&metric=fad_400");
  EXPECT_THAT(trend, HasSubstr("/rating?model=P1-60-12"));
  EXPECT_THAT(trend, HasSubstr("/gauge?model=P1-60-12"));
}

TEST_F(Studied, TheListOfTestsHasPagesAndFilters) {
  const std::string page = tree("/units");
  EXPECT_THAT(page, HasSubstr("Tests 1 to 100 of "));
  const std::size_t at = page.find("/units?before=");
  ASSERT_NE(at, std::string::npos);
  const std::string older = page.substr(at, page.find('"', at) - at);
  EXPECT_THAT(tree(older), HasSubstr("Tests 101 to "));
  EXPECT_EQ(wrong_in_markup(page), "");
  const std::string failed = tree("/units?verdict=fail&purpose=production&batch=b3");
  EXPECT_THAT(failed, HasSubstr("Tests 1 to 1 of 1, newest first, verdict fail, batch b3"));
  EXPECT_THAT(failed, HasSubstr("b3-9"));
  EXPECT_EQ(status_of(get("/units?verdict=maybe")), 404);
  EXPECT_EQ(status_of(get("/units?model=P9")), 404);
  EXPECT_EQ(status_of(get("/units?before=x")), 400);
}

TEST_F(Studied, ThePopulationPageLeadsThere) {
  const std::string page = tree("/population?model=P1-60-12");
  EXPECT_THAT(page, HasSubstr("/gauge?model=P1-60-12"));
  EXPECT_THAT(page, HasSubstr("/rating?model=P1-60-12"));
}

}  // namespace
}  // namespace endgate::test
