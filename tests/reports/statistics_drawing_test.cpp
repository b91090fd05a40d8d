#include <gmock/gmock.h>

#include <algorithm>
#include <cmath>

#include "reports/batch_chart.h"
#include "reports/form.h"
#include "reports/histogram.h"
#include "reports/population_page.h"
#include "reports/share_bars.h"
#include "reports/trend_page.h"
#include "tests/reports/well_formed.h"

namespace endgate::reports {
namespace {

using testing::HasSubstr;
using testing::Not;

std::size_t count_of(const std::string& text, const std::string& piece) {
  std::size_t count = 0;
  for (std::size_t at = 0; (at = text.find(piece, at)) != std::string::npos; at += piece.size())
    ++count;
  return count;
}

BatchChart sample_batches() {
  return {.description = "means <of> batches",
          .unit = "L/min",
          .names = {{0, "a"}, {1, "b"}, {2, "c"}},
          .values = {48, 49, 44},
          .low = {46, 46, 46},
          .high = {50, 50, 50},
          .centres = {48, 48, 48},
          .signals = {2},
          .changes = {{1.5, "A"}}};
}

TEST(BatchChart, RingsWhatSignalsAndMarksWhereTheLevelChanged) {
  const std::string svg = to_markup(draw(sample_batches()));
  EXPECT_EQ(count_of(svg, "class=\"ring\""), 1U);
  EXPECT_EQ(count_of(svg, "class=\"change\""), 1U);
  EXPECT_THAT(svg, HasSubstr(">A</text>"));
  EXPECT_EQ(count_of(svg, "class=\"disc\""), 3U);
  EXPECT_EQ(count_of(svg, "edge other"), 2U);
}

TEST(BatchChart, LimitsBeginAnewWithEachVersionAndLeaveAGapWhereThereAreNone) {
  const double gap = std::nan("");
  BatchChart chart = sample_batches();
  chart.values = {48, 49, 44, 48};
  chart.low = {gap, 46, 45, 45};
  chart.high = {gap, 50, 51, 51};
  chart.centres = {gap, 48, 48, 48};
  chart.breaks = {2};
  const std::string svg = to_markup(draw(chart));
  EXPECT_EQ(count_of(svg, "class=\"band\""), 2U);
  EXPECT_EQ(count_of(svg, "class=\"centre\""), 2U);
  EXPECT_EQ(count_of(svg, "class=\"series\""), 1U);
  EXPECT_EQ(svg.find("nan"), std::string::npos);
  EXPECT_EQ(span_of(chart).high, 51);
}

TEST(BatchChart, TwoLinesDifferByMoreThanColour) {
  BatchChart chart = sample_batches();
  chart.other = {47, 46, 45};
  const std::string svg = to_markup(draw(chart));
  EXPECT_THAT(svg, HasSubstr("class=\"series\""));
  EXPECT_THAT(svg, HasSubstr("class=\"series second\""));
}

TEST(BatchChart, SpansEverythingItDraws) {
  const Span span = span_of(sample_batches());
  EXPECT_EQ(span.low, 44);
  EXPECT_EQ(span.high, 50);
}

TEST(BatchChart, TwoOfOneScaleHaveTheSameNumbersBesideThem) {
  BatchChart left = sample_batches(), right = sample_batches();
  right.values = {48, 48, 48};
  right.at_least = span_of(left);
  left.at_least = span_of(right);
  const auto axis = [](const std::string& svg) { return svg.substr(0, svg.find("tick middle")); };
  left.description = right.description;
  EXPECT_EQ(count_of(axis(to_markup(draw(left))), "tick end"),
            count_of(axis(to_markup(draw(right))), "tick end"));
}

TEST(Histogram, DrawsEveryUnitOnceAndTheDraftDashed) {
  Histogram histogram{.quantity = "Flow, L/min", .values = {}};
  for (int i = 0; i < 400; ++i) histogram.values.push_back(40 + 0.05 * (i % 200));
  histogram.bounds = {{42, "at least 42.0", false}, {43, "draft: at least 43.0", true}};
  const std::string svg = to_markup(draw(histogram));
  EXPECT_EQ(count_of(svg, "class=\"bin\""), 20U);
  EXPECT_EQ(count_of(svg, "class=\"edge draft\""), 1U);
  EXPECT_EQ(count_of(svg, "class=\"edge\""), 1U);
  EXPECT_THAT(svg, HasSubstr(">draft: at least 43.0</text>"));
}

TEST(Histogram, OfEqualValuesIsOneBin) {
  const std::string svg = to_markup(draw(Histogram{.values = {5, 5, 5}}));
  EXPECT_EQ(count_of(svg, "class=\"bin\""), 1U);
}

TEST(ShareBars, StandInTheGivenOrderWithTheirWords) {
  const std::string svg = to_markup(
      draw_bars({{"first", 0.6, 0.5, 0.7, "60 %"}, {"second", 0.4, 0.3, 0.5, "40 %"}}, ""));
  EXPECT_LT(svg.find(">first<"), svg.find(">second<"));
  EXPECT_THAT(svg, HasSubstr(">60 %<"));
}

TEST(QuestionForm, KeepsWhatWasAskedAlsoWhenThereIsNoSuchChoice) {
  const std::string form = to_markup(draw(QuestionForm{
      .action = "/trends",
      .fields = {{.name = "model", .caption = "Model", .value = "<P9>", .choices = {{"P1", "P1"}}}},
      .kept = {{"by", "unit"}}}));
  EXPECT_THAT(form, HasSubstr("<option value=\"&lt;P9&gt;\" selected=\"selected\">"));
  EXPECT_THAT(form, HasSubstr("method=\"get\""));
  EXPECT_THAT(form, HasSubstr("type=\"hidden\" name=\"by\" value=\"unit\""));
}

TEST(StatisticsDrawings, AreWellFormedWhateverTheyAreGiven) {
  BatchChart strange = sample_batches();
  strange.values = {NAN, INFINITY, 1};
  for (const Node& node : {draw(sample_batches()), draw(BatchChart{}), draw(strange),
                           draw(Histogram{}), draw(Histogram{.values = {1, 2, 3}}),
                           draw_bars({}, ""), draw_bars({{"<x>", NAN, 0, 0, ""}}, "")})
    EXPECT_EQ(test::wrong_in_markup(to_markup(node)), "") << to_markup(node);
}

TEST(PopulationPage, SpellsLabelsOutAndKeepsAbbreviationsInTooltips) {
  PopulationPage page{.heading = "All units"};
  page.fits = {{.metric = "Back leak", .room_all = {"1.20", "1.02 to 1.38"}}};
  const std::string text = page_of(page);
  EXPECT_THAT(text, HasSubstr("title=\"Ppk\">Room to the nearer limit, all scatter<"));
  EXPECT_THAT(text, HasSubstr("1.02 to 1.38"));
  for (const char* abbreviation : {">Cp", ">Pp", "Cpk<", "Ppk<"})
    EXPECT_THAT(text, Not(HasSubstr(abbreviation)));
}

}  // namespace
}  // namespace endgate::reports
