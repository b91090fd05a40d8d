#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>

#include "reports/axis.h"
#include "reports/curve_chart.h"
#include "reports/duration.h"
#include "reports/end_labels.h"
#include "reports/flat_curve.h"
#include "reports/ruler.h"
#include "reports/signs.h"
#include "reports/trace_plot.h"
#include "reports/trend_chart.h"
#include "tests/reports/well_formed.h"

namespace endgate::reports {
namespace {

CurveChart sample_chart() {
  CurveChart chart{.description = "Delivery <inside> its \"limits\" & more"};
  for (int i = 0; i < 5; ++i) {
    const double p = 200.0 * i;
    chart.band.push_back({.pressure = p, .lower = 55 - 5.0 * i, .upper = 68 - 5.0 * i, .guard = 1});
    chart.points.push_back({.pressure = p, .flow = 61 - 5.0 * i, .expanded_u = 0.6});
    chart.curve.push_back({.pressure = p, .flow = 61 - 5.0 * i, .expanded_u = 0.6});
  }
  return chart;
}

void each(const Node& node, const std::function<void(const Node&)>& visit) {
  visit(node);
  for (const Node& child : node.children) each(child, visit);
}

std::string attribute(const Node& node, const std::string& name) {
  for (const auto& [key, value] : node.attributes)
    if (key == name) return value;
  return "";
}

std::vector<const Node*> with_class(const Node& root, const std::string& name) {
  std::vector<const Node*> found;
  each(root, [&](const Node& node) {
    if ((" " + attribute(node, "class") + " ").find(" " + name + " ") != std::string::npos)
      found.push_back(&node);
  });
  return found;
}

TEST(Node, EscapesTextsAndAttributes) {
  const Node node = Node("p").set("title", "a\"b<c").say("<img onerror=1> & \x01'quoted'");
  EXPECT_EQ(to_markup(node),
            "<p title=\"a&quot;b&lt;c\">&lt;img onerror=1&gt; &amp; &#39;quoted&#39;</p>");
}

TEST(Node, WritesLengthsWithoutExponentOrNoise) {
  EXPECT_EQ(length(1.0 / 3), "0.33");
  EXPECT_EQ(length(-0.001), "0");
  EXPECT_EQ(length(1e-300), "0");
  EXPECT_EQ(length(120), "120");
}

TEST(Axis, TicksAreRoundNumbersInsideTheSpan) {
  const Ticks found = ticks(28, 71, 5);
  EXPECT_EQ(found.values, (std::vector<double>{30, 40, 50, 60, 70}));
  EXPECT_EQ(found.decimals, 0);
  EXPECT_EQ(ticks(0.1, 0.35, 5).decimals, 2);
}

TEST(Axis, AnEmptySpanStillHasRoom) {
  const Span span = widened(5, 5, 5);
  EXPECT_LT(span.low, 5);
  EXPECT_GT(span.high, 5);
  EXPECT_TRUE(std::isfinite(widened(NAN, NAN, 5).high));
}

TEST(Drawings, AreWellFormedWhateverTheyAreGiven) {
  const TrendChart trend{.description = "t",
                         .unit = "L/min",
                         .place_title = "Batch",
                         .benches = {"north", "south", "west", "east"},
                         .spots = {{.place = 0, .bench = 0, .value = 1, .low = 0, .high = 2},
                                   {.place = 1, .bench = 3, .value = NAN}},
                         .lower = 0.5,
                         .guard = 0.1};
  const TracePlot trace{.quantity = "Flow, L/min",
                        .pieces = {{0, 1.0, 2.0}, {1, {}, {}}, {2, 1.5, 1.5}},
                        .steps = {{"Zero", 0}, {"Start", 1}},
                        .used = {{0.5, 1.5}}};
  for (const Node& node :
       {draw(sample_chart()), draw(CurveChart{}), draw(Ruler{.margin = 1, .expanded_u = 0.1}),
        draw(Ruler{}), draw(FlatCurve{}), draw(trend), draw(TrendChart{}), draw(trace),
        draw(TracePlot{}), draw_ring(38, 62, "left", "running")})
    EXPECT_EQ(test::wrong_in_markup(to_markup(node)), "") << to_markup(node);
}

TEST(Drawings, HaveNoInlineStyleAndNoHandlers) {
  each(draw(sample_chart()), [](const Node& node) {
    EXPECT_NE(node.tag, "script");
    EXPECT_NE(node.tag, "style");
    for (const auto& [name, value] : node.attributes) {
      EXPECT_NE(name, "style");
      EXPECT_FALSE(name.starts_with("on")) << name;
    }
  });
}

TEST(CurveChart, WritesItsWordsAsText) {
  const std::string svg = to_markup(draw(sample_chart()));
  for (const char* words : {"Free-air delivery, L/min", "Outlet pressure, kPa gauge", "lower limit",
                            "upper limit", "this unit"})
    EXPECT_NE(svg.find(std::string(">") + words + "</text>"), std::string::npos) << words;
}

TEST(CurveChart, PutsTheRingOnThePointThatDecides) {
  CurveChart chart = sample_chart();
  EXPECT_TRUE(with_class(draw(chart), "ring").empty());
  chart.points[3].decides = true;
  EXPECT_EQ(with_class(draw(chart), "ring").size(), 1U);
}

TEST(CurveChart, ABrokenOffCurveEndsAtAPostWithoutALabel) {
  CurveChart chart = sample_chart();
  chart.stops = true;
  const Node svg = draw(chart);
  EXPECT_EQ(with_class(svg, "post").size(), 1U);
  EXPECT_EQ(to_markup(svg).find("this unit"), std::string::npos);
}

TEST(CurveChart, ItsTableHasTheSameNumbers) {
  const std::string table = to_markup(table_of(sample_chart()));
  EXPECT_NE(table.find("<td class=\"number\">400</td><td class=\"number\">51.0</td>"),
            std::string::npos)
      << table;
}

TEST(CurveChart, EndLabelsNeitherOverlapNorLeaveTheDrawingForRandomCurves) {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> flow(-5, 120);
  for (int round = 0; round < 1000; ++round) {
    CurveChart chart;
    const double last = flow(random);
    chart.band = {{.pressure = 0, .lower = flow(random), .upper = flow(random)},
                  {.pressure = 800, .lower = last, .upper = last + 0.01}};
    chart.curve = {{.pressure = 0, .flow = flow(random)}, {.pressure = 800, .flow = last}};
    chart.others = {{"birth", true, {{.pressure = 0, .flow = 1}, {.pressure = 800, .flow = last}}},
                    {"attempt 2", false, {{.pressure = 800, .flow = flow(random)}}}};
    std::vector<double> y;
    const Node svg = draw(chart);  // the visited nodes live in it
    for (const Node* one : with_class(svg, "end-label")) {
      y.push_back(std::stod(attribute(*one, "y")));
      const double width = 9.3 * static_cast<double>(one->children.front().text.size());
      EXPECT_LE(std::stod(attribute(*one, "x")) + width, chart.width);
      EXPECT_GE(y.back() - 12, 0);
      EXPECT_LE(y.back() + 4, chart.height);
    }
    std::sort(y.begin(), y.end());
    for (std::size_t i = 1; i < y.size(); ++i) ASSERT_GE(y[i] - y[i - 1], 15) << round;
  }
}

TEST(Ruler, ShowsTheValueOnItsSideOfTheBar) {
  const auto mark_x = [](double margin) {
    const Node svg =
        draw(Ruler{.margin = margin, .expanded_u = 0.3, .guard = 0.5, .limit_size = 44});
    return std::stod(attribute(*with_class(svg, "mark").front(), "x")) + 5;
  };
  const double bar = 0.34 * 190;
  EXPECT_GT(mark_x(2), bar);
  EXPECT_GT(mark_x(200), bar);
  EXPECT_LT(mark_x(-2), bar);
  EXPECT_NEAR(mark_x(0), bar, 0.01);
  EXPECT_GE(mark_x(-1e9), 5);
  EXPECT_LE(mark_x(1e9), 185);
}

TEST(Ruler, ShowsNoMarkWithoutAValue) {
  const Node svg = draw(Ruler{.limit_size = 44});
  EXPECT_TRUE(with_class(svg, "mark").empty());
}

TEST(FlatCurve, IsBelowItsBarExactlyWhereTheCurveIsBelowTheLowerLimit) {
  const FlatCurve flat{.band = {{.pressure = 0, .lower = 50, .upper = 60},
                                {.pressure = 800, .lower = 30, .upper = 40}},
                       .curve = {{.pressure = 0, .flow = 55},
                                 {.pressure = 400, .flow = 40},
                                 {.pressure = 600, .flow = 34},
                                 {.pressure = 900, .flow = 20}}};
  const std::vector<CurveSpot> level = laid_flat(flat);
  ASSERT_EQ(level.size(), 3U);  // beyond the band there is nothing to hold it against
  EXPECT_NEAR(level[0].flow, 0.5, 1e-12);
  EXPECT_NEAR(level[1].flow, 0.0, 1e-12);
  EXPECT_LT(level[2].flow, 0);
}

TEST(TracePlot, NamesEveryStepAndStepsOfOneTimeTogether) {
  const TracePlot trace{
      .pieces = {{0, 1.0, 2.0}, {50, 1.5, 1.5}},
      .steps = {{"800 kPa", 0}, {"Back leak", 20}, {"Seal leak", 20}, {"Vent", 49.9}}};
  std::vector<std::string> names;
  each(draw(trace), [&](const Node& node) {
    for (const auto& [name, value] : node.attributes)
      if (name == "class" && value == "step-name") names.push_back(node.children.at(0).text);
  });
  EXPECT_THAT(names, testing::ElementsAre("800 kPa", "Back leak and seal leak", "Vent"));
}

TEST(Ring, WritesLongTimesInHoursSoThatTheyFitInside) {
  const std::string sign = to_markup(draw_ring(43154, 43200, "left", "running"));
  EXPECT_THAT(sign, testing::HasSubstr(">12<"));
  EXPECT_THAT(sign, testing::HasSubstr(">h left<"));
  EXPECT_EQ(duration_text(999), "999\u00A0s");
  EXPECT_EQ(duration_text(1740), "29\u00A0min");
}

TEST(TracePlot, NeverDrawsALineAcrossAGap) {
  const TracePlot trace{.pieces = {{0, 1.0, 2.0}, {1, {}, {}}, {2, 1.5, 1.5}}};
  const Node svg = draw(trace);
  const std::string commands = attribute(*with_class(svg, "trace").front(), "d");
  EXPECT_EQ(std::count(commands.begin(), commands.end(), 'M'), 2);
}

TEST(TrendChart, BenchesDifferByTheFormOfTheirMark) {
  TrendChart chart{.benches = {"north", "south"}};
  chart.spots = {{.place = 0, .bench = 0, .value = 1, .href = "/units/a"},
                 {.place = 0, .bench = 1, .value = 1, .href = "/units/b"}};
  const Node svg = draw(chart);
  EXPECT_EQ(with_class(svg, "disc").size(), 1U);
  EXPECT_EQ(with_class(svg, "mark").size(), 1U);
  EXPECT_EQ(with_class(svg, "spot").size(), 2U);
}

TEST(Signs, EveryVerdictHasItsOwnShapeAndItsWord) {
  std::vector<std::string> seen;
  for (const char* verdict : {"pass", "fail", "undecided", "void"}) {
    const std::string mark = to_markup(verdict_mark(verdict));
    EXPECT_NE(mark.find(word_of_verdict(verdict)), std::string::npos);
    for (const std::string& other : seen) EXPECT_NE(other, mark);
    seen.push_back(mark);
  }
}

TEST(Signs, AnUnknownVerdictNeverLooksLikeAPass) {
  EXPECT_EQ(sign_of_verdict(""), Sign::void_);
  EXPECT_EQ(sign_of_verdict("PASS "), Sign::void_);
  EXPECT_EQ(word_of_verdict("anything"), "Void");
}

}  // namespace
}  // namespace endgate::reports
