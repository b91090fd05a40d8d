// Lots, limits, control limits and the risk of a whole unit, as JSON and as pages.

#include <gmock/gmock.h>

#include <fstream>
#include <iterator>

#include "daemon/definitions/control_facts.h"
#include "daemon/line/control_history.h"
#include "daemon/queries/lot_told.h"
#include "daemon/queries/unit_risk_told.h"
#include "reports/node.h"
#include "tests/reports/well_formed.h"
#include "tests/service/page_tree.h"
#include "tests/service/served.h"
#include "tests/support/batch_history.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

std::string text_in(const std::string& file) {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) + file);
  return {std::istreambuf_iterator<char>(in), {}};
}

std::string limits_of_the_scenario() { return text_in("/fixtures/scenario/limits/P1-60-12.toml"); }

std::string with_lower(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

class Traced : public testing::Test {
 protected:
  static void SetUpTestSuite() {
    history_ = new BatchHistory;
    history_->make({.batches = 24});
    const std::string text = limits_of_the_scenario();
    accept("limits", "P1-60-12", text, "first <set>");
    accept("limits", "P1-60-12", with_lower(text, "lower = 56.8", "lower = 55.5"), "milder");
    const auto frozen = daemon::freeze_control(history_->reader(), {.tests = {.model = "P1-60-12"},
                                                                    .metric = "fad_400",
                                                                    .first_batch = "b0",
                                                                    .last_batch = "b23"});
    const auto* facts = std::get_if<daemon::ControlFacts>(&frozen);
    ASSERT_NE(facts, nullptr) << std::get<std::string>(frozen);
    accept("control", daemon::control_subject("P1-60-12", "fad_400", ""), text_of(*facts),
           "settled");
    history_->keep("BACK", "b1", "north", "production", 1, 8e-4);
    history_->enter(schema::ReturnIntake{.serial = "BACK", .months_in_use = 5, .by = "Cy"});
    history_->keep("BACK", "b1", "north", "returned", 2, 7.2e-4);
  }
  static void TearDownTestSuite() { delete history_; }
  static void accept(const std::string& kind, const std::string& subject, const std::string& text,
                     const std::string& why) {
    history_->accept({.kind = kind,
                      .subject = subject,
                      .text = text,
                      .by = "Ada",
                      .why = why,
                      .at = {.utc_ms = BatchHistory::kFirstDayUtcMs},
                      .second_by = kind == "limits" ? "Bo" : ""});
  }
  std::string get(const std::string& target) const { return served_.get(target); }
  std::string json(const std::string& target) const { return body_of(get(target)); }
  std::string tree(const std::string& target) const { return tree_of(json(target)); }

  static inline BatchHistory* history_ = nullptr;
  Served served_{history_->folder().string()};
};

TEST_F(Traced, ALotLeadsForwardToItsUnits) {
  const daemon::LotTold told = daemon::lot_told(history_->reader(), "B", "reed");
  const std::string answer = json("/api/v1/lots/B?part=reed");
  EXPECT_THAT(answer, HasSubstr("\"count\":160"));
  EXPECT_THAT(answer, HasSubstr("\"first_fail\":{\"count\":16,\"of\":160"));
  EXPECT_THAT(answer, HasSubstr("\"causes\":[{\"name\":\"Worn piston ring\""));
  EXPECT_THAT(answer, HasSubstr("\"through_batch\":\"b23\""));
  const std::string page = tree("/lots/B?part=reed");
  for (const std::string& sentence : words_of(told))
    EXPECT_THAT(page, HasSubstr(reports::escaped(sentence)));
  EXPECT_THAT(page, HasSubstr("<a href=\"/units/b8-0\">b8-0</a>"));
  EXPECT_THAT(page, HasSubstr("For comparison: all other units, passed"));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_EQ(page, tree("/lots?lot=B&part=reed")) << "typed into the form";
}

TEST_F(Traced, ALotThatNobodyHoldsIs404AndThePageToAskOnIsThere) {
  EXPECT_THAT(json("/api/v1/lots/R-9"), HasSubstr("U-255"));
  EXPECT_EQ(status_of(get("/api/v1/lots/R-9")), 404);
  EXPECT_EQ(status_of(get("/lots/R-9%3Cb%3E")), 404);
  EXPECT_THAT(tree("/lots/R-9%3Cb%3E"), HasSubstr("to hold the lot R-9&lt;b&gt;."));
  EXPECT_EQ(status_of(get("/lots")), 200);
  EXPECT_EQ(status_of(get("/api/v1/lots/B?bogus=1")), 400);
}

// "R/118" cannot be a segment of a path.
TEST_F(Traced, ALotWithASlashIsLedToAndAnswered) {
  BatchHistory history;
  history.keep("S-1", "b1", "north", "production", 1, 8e-4);
  history.enter(schema::Lots{
      .subject_kind = "unit", .subject = "S-1", .parts = {{"reed", "R/118"}}, .by = "Ada"});
  const Served served{history.folder().string()};
  EXPECT_THAT(body_of(served.get("/units/S-1")),
              HasSubstr("href=\"/lots?lot=R%2F118&amp;part=reed\""));
  EXPECT_EQ(status_of(served.get("/lots?lot=R%2F118&part=reed")), 200);
  EXPECT_THAT(body_of(served.get("/api/v1/lots?lot=R%2F118")), HasSubstr("\"count\":1,"));
  EXPECT_EQ(status_of(served.get("/api/v1/lots")), 400);
}

TEST_F(Traced, AUnitLeadsToTheOthersOfItsLots) {
  EXPECT_THAT(tree("/units/b0-0"), HasSubstr("<a href=\"/lots/A?part=reed\">A (batch b0)</a>"));
  EXPECT_THAT(tree("/units"), HasSubstr("href=\"/lots\""));
}

TEST_F(Traced, AUnitsComparisonWithItsBirthIsNumbers) {
  const std::string answer = json("/api/v1/units/BACK");
  EXPECT_THAT(answer, HasSubstr("\"against_birth\":{\"attempt\":2,\"birth_attempt\":1,"));
  EXPECT_THAT(answer, HasSubstr("\"metric\":\"fad_400\",\"birth_si\":0.0008,\"change_si\":-"));
  EXPECT_THAT(answer, HasSubstr("\"e_n\":-"));
  EXPECT_THAT(answer, HasSubstr("\"more_than_its_uncertainty\":true"));
  EXPECT_THAT(answer, HasSubstr("\"earlier_returns\":{\"months_in_use\":5.0,\"units\":0,"));
  EXPECT_THAT(json("/api/v1/units/b0-0"), HasSubstr("\"against_birth\":null"));
}

TEST_F(Traced, LimitsAreToldOverTimeWithWhoClaimsToHaveChangedThem) {
  const std::string answer = json("/api/v1/limits?model=P1-60-12");
  EXPECT_THAT(answer, HasSubstr("\"names\":\"claimed\""));
  EXPECT_THAT(answer, HasSubstr("\"version\":2,"));
  EXPECT_THAT(answer,
              HasSubstr("\"why\":\"milder\",\"class\":null,\"metric\":\"fad_0\",\"held\":true"));
  const std::string page = tree("/limits?model=P1-60-12&metric=fad_0");
  EXPECT_THAT(page, HasSubstr("Version 2 of the limits of model P1-60-12 is in force since "));
  EXPECT_THAT(page, HasSubstr("By (claimed)"));
  EXPECT_THAT(page, HasSubstr("first &lt;set&gt;"));
  EXPECT_THAT(page, HasSubstr(">56.80</text>"));
  EXPECT_THAT(page, HasSubstr(">55.50</text>"));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_THAT(tree("/limits?model=P1-60-12&metric=duty_factor"),
              HasSubstr("No version held a limit on this metric."));
  EXPECT_EQ(status_of(get("/api/v1/limits")), 400);
  EXPECT_EQ(status_of(get("/api/v1/limits?model=P9")), 404);
  EXPECT_EQ(status_of(get("/limits?model=P9")), 404);
  EXPECT_EQ(status_of(get("/limits")), 200);
}

TEST(TracedLimits, TheVersionInForceIsTheNewestAlsoWhereItChangedNoLimit) {
  BatchHistory history;
  history.make({.batches = 1});
  const auto accept = [&](const std::string& text, const std::string& by) {
    history.accept({.kind = "limits",
                    .subject = "P1-60-12",
                    .text = text,
                    .by = by,
                    .why = "for a test",
                    .at = {.utc_ms = BatchHistory::kFirstDayUtcMs},
                    .second_by = "Bo"});
  };
  const Served served{history.folder().string()};
  const auto page = [&] { return body_of(served.get("/limits?model=P1-60-12&metric=fad_0")); };
  accept(limits_of_the_scenario(), "Ada");
  accept("# with a comment\n" + limits_of_the_scenario(), "Cy");
  EXPECT_THAT(page(), HasSubstr("Version 2 of the limits of model P1-60-12 is in force since "));
  EXPECT_THAT(page(), HasSubstr("accepted by Cy, Bo (names as claimed)."));
  EXPECT_THAT(page(), HasSubstr(">Version 2, 2026-01-01</text>"));
  accept("no limits at all", "Dee");
  EXPECT_THAT(page(), HasSubstr("Version 3 of the limits of model P1-60-12, "));
  EXPECT_THAT(page(), HasSubstr("can no longer be read; its limits are not drawn."));
  accept(limits_of_the_scenario(), "Eve");
  const std::string drawn = page();
  std::size_t bounds = 0;
  for (std::size_t at = 0; (at = drawn.find(">56.80</text>", at)) != std::string::npos; ++at)
    ++bounds;
  EXPECT_EQ(bounds, 2U) << "version 3 lies between and draws none";
}

TEST(TracedLimits, BandsRelationsAndClassesAreNumbersToo) {
  BatchHistory history;
  history.make({.batches = 1});
  history.accept({.kind = "limits",
                  .subject = "P1-60-12",
                  .text = text_in("/fixtures/examples/limits/band_relation_class.toml"),
                  .by = "Ada",
                  .at = {.utc_ms = BatchHistory::kFirstDayUtcMs},
                  .second_by = "Bo"});
  const Served served{history.folder().string()};
  const std::string answer = body_of(served.get("/api/v1/limits?model=P1-60-12"));
  EXPECT_THAT(answer, HasSubstr("\"points\":[{\"gauge_pa\":0.0,\"lower_si\":0.00094"));
  EXPECT_THAT(answer, HasSubstr("\"metric\":\"current_600~fad_600\""));
  EXPECT_THAT(answer, HasSubstr("\"slope_si\":12600.0"));
  EXPECT_THAT(answer, HasSubstr("\"intercept_si\":12.8"));
  EXPECT_THAT(answer, HasSubstr("\"class\":\"A\",\"metric\":\"fad_600\""));
  EXPECT_THAT(body_of(served.get("/limits?model=P1-60-12")), HasSubstr("Class A: "));
}

TEST_F(Traced, FrozenControlLimitsAreListedAndDrawn) {
  const std::string answer = json("/api/v1/control?model=P1-60-12");
  EXPECT_THAT(answer, HasSubstr("\"metric\":\"fad_400\",\"bench\":null"));
  EXPECT_THAT(answer, HasSubstr("\"first_batch\":\"b0\",\"last_batch\":\"b23\",\"batches\":24"));
  EXPECT_THAT(json("/api/v1/control?metric=fad_0"), HasSubstr("\"versions\":[]"));
  const std::string page = tree("/control?model=P1-60-12&metric=fad_400");
  EXPECT_THAT(page, HasSubstr("b0 to b23"));
  EXPECT_THAT(page, HasSubstr("u-band"));
  EXPECT_EQ(wrong_in_markup(page), "");
  EXPECT_THAT(tree("/control?model=P1-60-12&metric=fad_0"), HasSubstr("None was frozen for "));
  EXPECT_THAT(tree("/trends?model=P1-60-12&metric=fad_400"),
              HasSubstr("/control?model=P1-60-12&amp;metric=fad_400"));
}

TEST_F(Traced, NamesThatDoNotExistAreRefused) {
  for (const char* target :
       {"/api/v1/control?model=P9", "/api/v1/control?model=P1-60-12&metric=flow",
        "/api/v1/yield?model=P1-60-12&lot=R-9", "/risk?model=P1-60-12&lot=b",
        "/population?model=P1-60-12&lot=ring%3DB", "/trends?model=P1-60-12&lot=R-9"})
    EXPECT_EQ(status_of(get(target)), 404) << target;
  EXPECT_THAT(json("/api/v1/yield?model=P1-60-12&lot=R-9"),
              HasSubstr("No unit is known to hold the lot R-9."));
  EXPECT_EQ(status_of(get("/api/v1/yield?model=P1-60-12&lot=reed%3DB")), 200);
  EXPECT_EQ(status_of(get("/api/v1/yield?model=P1-60-12&together=fad_0")), 400)
      << "a name of another question";
}

TEST_F(Traced, AnUnreadableTextStandsOnThePagesOfItsModelOnly) {
  BatchHistory history;
  history.keep("S-1", "b1", "north", "production", 1, 8e-4);
  history.accept({.kind = "model", .subject = "P2-120-24", .text = "a model", .by = "Ada"});
  history.accept({.kind = "control",
                  .subject = daemon::control_subject("P2-120-24", "fad_400", ""),
                  .text = "unreadable",
                  .by = "Ada"});
  const Served served{history.folder().string()};
  EXPECT_THAT(body_of(served.get("/api/v1/control?model=P1-60-12")), HasSubstr("\"versions\":[]"));
  EXPECT_THAT(body_of(served.get("/api/v1/control?model=P2-120-24")),
              HasSubstr("\"readable\":false"));
}

TEST(TracedNothing, InAStoreWithoutTestsThePagesSaySo) {
  const BatchHistory history;
  const Served served{history.folder().string()};
  for (const char* page : {"/limits", "/control", "/risk"})
    EXPECT_THAT(body_of(served.get(page)), HasSubstr("No test is kept yet.")) << page;
}

TEST_F(Traced, TheRiskOfAWholeUnitIsToldInTheWordsOfTheQuery) {
  const auto told = daemon::unit_risk_of(history_->reader(), {.model = "P1-60-12"});
  ASSERT_GT(told.risk.drawn, 0);
  const std::string page = tree("/risk?model=P1-60-12");
  for (const std::string& sentence : words_of(told))
    EXPECT_THAT(page, HasSubstr(reports::escaped(sentence)));
  EXPECT_THAT(page, HasSubstr("Good units that fail"));
  EXPECT_EQ(wrong_in_markup(page), "");
  const std::string answer = json("/api/v1/risk?model=P1-60-12");
  EXPECT_THAT(answer, HasSubstr("\"good_failed\":0."));
  EXPECT_THAT(answer, HasSubstr("\"good_failed_of_good\":0."));
  EXPECT_THAT(answer, HasSubstr("\"bad_passed_of_passed\":0."));
  EXPECT_THAT(answer, HasSubstr("\"limits_left_out\":0,"));
  EXPECT_THAT(answer, HasSubstr("\"each_limit_alone\":[{\"metric\":\"fad_400\""));
  EXPECT_THAT(json("/api/v1/risk?model=P1-60-12&batch=b0"), HasSubstr("\"good_failed\":null"));
  EXPECT_EQ(status_of(get("/risk?model=P9")), 404);
  EXPECT_THAT(tree("/population?model=P1-60-12"), HasSubstr("/risk?model=P1-60-12"));
}

TEST_F(Traced, SeveralMetricsTogetherAreNumbersToo) {
  const std::string one = "/api/v1/trend/together?model=P1-60-12&metric=fad_400";
  EXPECT_THAT(json(one + "&together=fad_400"), HasSubstr("U-256"));
  EXPECT_THAT(json(one + "&together=nothing"), HasSubstr("U-256"));
  EXPECT_THAT(json(one + "&together=current_600"),
              HasSubstr("\"metrics\":[\"fad_400\",\"current_600\"]"));
  EXPECT_THAT(json(one + "&together=current_600"), HasSubstr("\"none_because\":\""));
  EXPECT_EQ(status_of(get("/api/v1/trend/together?model=P1-60-12")), 400);
}

TEST_F(Traced, TheTrendTellsItsLevelsAndTheYieldItsCauses) {
  EXPECT_THAT(json("/api/v1/trend/batches?model=P1-60-12&metric=fad_400"),
              HasSubstr("\"levels\":[{\"from_batch\":\"b0\",\"to_batch\":"));
  EXPECT_THAT(json("/api/v1/trend/batches?model=P1-60-12&metric=fad_400"),
              HasSubstr("\"first_batch_looked_at\":\"b0\""));
  const std::string yield = json("/api/v1/yield?model=P1-60-12");
  EXPECT_THAT(yield, HasSubstr("\"likely_causes\":[{\"cause\":\"worn piston ring\",\"units\":"
                               "{\"count\":24,\"of\":24"));
  EXPECT_THAT(yield, HasSubstr("\"shifts_stated\":false"));
}

}  // namespace
}  // namespace endgate::test
