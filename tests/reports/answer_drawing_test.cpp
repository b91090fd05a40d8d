// Drawings of studies and of paths: what is drawn for what is given.

#include <gmock/gmock.h>

#include "reports/answer_page.h"
#include "reports/limit_steps.h"
#include "reports/path_chart.h"
#include "reports/study_chart.h"
#include "tests/reports/well_formed.h"

namespace endgate::reports {
namespace {

using testing::HasSubstr;
using testing::Not;

std::size_t pieces_in(const std::string& text, const std::string& piece) {
  std::size_t count = 0;
  for (std::size_t at = 0; (at = text.find(piece, at)) != std::string::npos; at += piece.size())
    ++count;
  return count;
}

TEST(StudyChart, AMarkForEachTestAndALineForEachPlaceThatDiffersByMoreThanColour) {
  const StudyChart chart{.description = "a <study>",
                         .quantity = "L/min",
                         .units = {"A", "B"},
                         .places = {"north", "south"},
                         .spots = {{0, 0, 48}, {0, 0, 48.5}, {0, 1, 49}, {1, 0, 50}, {1, 1, 51}}};
  const std::string svg = to_markup(draw(chart));
  EXPECT_EQ(pieces_in(svg, "class=\"disc\""), 3U);
  EXPECT_EQ(pieces_in(svg, "class=\"mark\""), 2U);
  EXPECT_THAT(svg, HasSubstr("class=\"series\""));
  EXPECT_THAT(svg, HasSubstr("class=\"series second\""));
  EXPECT_THAT(svg, HasSubstr(">south</text>"));
  EXPECT_EQ(test::wrong_in_markup(svg), "");
}

TEST(StudyChart, WithoutTestsNothingIsDrawn) {
  EXPECT_THAT(to_markup(draw(StudyChart{.units = {"A"}})), Not(HasSubstr("series")));
}

TEST(LimitSteps, DrawsEachVersionWithTheBoundsThatChanged) {
  const LimitSteps chart{.description = "limits",
                         .quantity = "L/min",
                         .steps = {{.name = "Version 1", .lower = 42.0},
                                   {.name = "Version 2", .lower = 42.0, .upper = 60.0},
                                   {.name = "Version 3", .lower = 43.5, .upper = 60.0}}};
  const std::string svg = to_markup(draw(chart));
  EXPECT_EQ(pieces_in(svg, "class=\"u-band\""), 3U);
  EXPECT_EQ(pieces_in(svg, ">42.0</text>"), 1U) << "said once, where it began";
  EXPECT_THAT(svg, HasSubstr(">43.5</text>"));
  EXPECT_EQ(pieces_in(svg, ">60.0</text>"), 1U);
  EXPECT_EQ(test::wrong_in_markup(svg), "");
  EXPECT_THAT(to_markup(draw(LimitSteps{.steps = {{.name = "Version 1"}}})),
              Not(HasSubstr("edge")));
}

TEST(AnswerPages, ATableMayLeadFromItsFirstColumnAndHoldWords) {
  AnswerPart part{.heading = "Units"};
  part.table = {.columns = {"Serial", "Verdict", "Tests"},
                .rows = {{"A <1>", "pass", "3"}, {"B", "fail", "1"}},
                .text_columns = 2,
                .hrefs = {"/units/A", ""}};
  const std::string page = page_of(AnswerPage{.heading = "Units", .parts = {part}});
  EXPECT_THAT(page, HasSubstr("<th><a href=\"/units/A\">A &lt;1&gt;</a></th><td>pass</td>"
                              "<td class=\"number\">3</td>"));
  EXPECT_THAT(page, HasSubstr("<th>B</th>"));
}

TEST(PathChart, DrawsTestsLineLimitAndTheTimesAtWhichItIsMet) {
  PathChart chart{.description = "path",
                  .quantity = "L/min",
                  .time_title = "Hours",
                  .spots = {{0, 48, 0.5}, {10, 47, 0.5}, {20, 46, 0.5}},
                  .line = {{0, 48, 47.8, 48.2}, {60, 42, 41, 43}},
                  .limits = {{.at = 42, .words = "lower limit", .from = 50, .to = 70}},
                  .until = 60};
  const std::string svg = to_markup(draw(chart));
  EXPECT_EQ(pieces_in(svg, "class=\"mark\""), 3U);
  EXPECT_THAT(svg, HasSubstr("class=\"u-band\""));
  EXPECT_THAT(svg, HasSubstr(">lower limit</text>"));
  EXPECT_EQ(pieces_in(svg, "class=\"post\""), 1U) << "the later end lies beyond the drawing";
  chart.limits[0].from.reset();
  EXPECT_EQ(pieces_in(to_markup(draw(chart)), "class=\"post\""), 0U);
}

TEST(AnswerPage, ShowsEverythingItIsGivenAndNoEmptyTable) {
  AnswerPage page{.here = "Population", .heading = "A & B", .statements = {"first", "second"}};
  page.parts.push_back({.heading = "Part", .short_name = "in a tooltip", .words = {"said"}});
  page.parts.push_back(
      {.heading = "Table", .table = {.columns = {"a", "b"}, .rows = {{"x", "1"}}}});
  const std::string text = page_of(page);
  EXPECT_THAT(text, HasSubstr("<p class=\"say\">first</p><p>second</p>"));
  EXPECT_THAT(text, HasSubstr("title=\"in a tooltip\">Part"));
  EXPECT_EQ(pieces_in(text, "<table"), 1U);
  EXPECT_THAT(text, HasSubstr("A &amp; B"));
}

}  // namespace
}  // namespace endgate::reports
