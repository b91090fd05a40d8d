#include "reports/trend_chart.h"

#include <algorithm>
#include <cmath>

#include "reports/axis.h"
#include "reports/number.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kLeft = 60, kRight = 24, kTop = 34, kBottom = 66;

struct Frame {
  Axis x, y;
};

Frame frame_of(const TrendChart& chart) {
  std::vector<double> y;
  double last = 0;
  for (const TrendSpot& spot : chart.spots) {
    y.insert(y.end(), {spot.low, spot.high, spot.value});
    last = std::max(last, spot.place);
  }
  if (chart.lower) y.push_back(*chart.lower);
  if (chart.upper) y.push_back(*chart.upper);
  if (y.empty()) y = {0, 1};
  const auto [low, high] = std::minmax_element(y.begin(), y.end());
  const double pad = 0.06 * (*high - *low);
  const Span span = widened(*low - pad, *high + pad, 5);
  return {.x = {-0.5, last + 0.5, kLeft, chart.width - kRight},
          .y = {span.low, span.high, chart.height - kBottom, kTop}};
}

void draw_axes(Node& svg, const TrendChart& chart, const Frame& frame) {
  svg.add(label({8, 16}, chart.unit, "axis-title"));
  const Ticks y = ticks(frame.y.low, frame.y.high, 5);
  for (const double value : y.values) {
    svg.add(segment({frame.x.from, frame.y.at(value)}, {frame.x.to, frame.y.at(value)}, "grid"));
    svg.add(label({kLeft - 8, frame.y.at(value) + 5}, fixed(value, y.decimals), "tick end"));
  }
  double free_from = 0;
  for (const PlaceName& name : chart.names) {
    const double half = 4.5 * static_cast<double>(name.name.size());
    const double x = frame.x.at(name.place);
    if (x - half < free_from || x + half > chart.width) continue;
    svg.add(label({x, frame.y.from + 22}, name.name, "tick middle"));
    free_from = x + half + 18;
  }
  svg.add(label({frame.x.to, frame.y.from + 48}, chart.place_title, "axis-title end"));
}

void draw_bound(Node& svg, const Frame& frame, double value, double guard, bool lower,
                const std::string& words) {
  const double y = frame.y.at(value);
  const double good = frame.y.at(lower ? value + guard : value - guard);
  std::string strokes;
  if (std::abs(good - y) > 1)
    for (double x = frame.x.from; x + 8 < frame.x.to; x += 9)
      strokes += "M" + length(x) + " " + length(std::max(y, good)) + "L" + length(x + 8) + " " +
                 length(std::min(y, good));
  if (!strokes.empty()) svg.add(path(strokes, "hatch"));
  svg.add(segment({frame.x.from, y}, {frame.x.to, y}, lower ? "edge" : "edge other"));
  svg.add(label({frame.x.to - 6, lower ? y + 18 : y - 7}, words, "end-label end"));
}

void draw_band(Node& svg, const TrendChart& chart, const Frame& frame) {
  if (!chart.lower && !chart.upper) return;
  const double top = chart.upper ? frame.y.at(*chart.upper) : frame.y.to;
  const double bottom = chart.lower ? frame.y.at(*chart.lower) : frame.y.from;
  svg.add(rect(frame.x.from, top, frame.x.to - frame.x.from, std::max(0.0, bottom - top), "band"));
}

std::vector<Node> mark_of(std::size_t bench, Spot at) {
  switch (bench % 4) {
    case 0:
      return {circle(at, 5, "disc")};
    case 1:
      return {rect(at.x - 5, at.y - 5, 10, 10, "mark")};
    case 2:
      return {path("M" + length(at.x) + " " + length(at.y - 6) + "l6 11h-12Z", "disc")};
    default:
      return {
          path("M" + length(at.x - 5) + " " + length(at.y - 5) + "l10 10m0 -10l-10 10", "cross")};
  }
}

Node spot_of(const TrendSpot& spot, const Frame& frame, double shift) {
  const Spot at{frame.x.at(spot.place) + shift, frame.y.at(spot.value)};
  Node link("a", "spot");
  link.set("href", spot.href).set("aria-label", spot.said);
  if (spot.verdict == "fail" || spot.verdict == "undecided") link.add(circle(at, 10, "ring"));
  if (spot.high > spot.low)
    link.add(segment({at.x, frame.y.at(spot.low)}, {at.x, frame.y.at(spot.high)}, "whisker"));
  return std::move(link).add_all(mark_of(spot.bench, at));
}

}  // namespace

Node draw(const TrendChart& chart) {
  const Frame frame = frame_of(chart);
  Node svg = drawing(chart.width, chart.height, "chart trend-chart", "");
  for (auto& [name, value] : svg.attributes)  // a group: its marks are links of their own
    if (name == "role") value = "group";
  svg.attributes.back() = {"aria-label", chart.description};
  draw_band(svg, chart, frame);
  draw_axes(svg, chart, frame);
  if (chart.lower) draw_bound(svg, frame, *chart.lower, chart.guard, true, chart.lower_words);
  if (chart.upper) draw_bound(svg, frame, *chart.upper, chart.guard, false, chart.upper_words);
  const double places = frame.x.high - frame.x.low;
  const double apart = std::min(12.0, 0.3 * (frame.x.to - frame.x.from) / places);
  const double middle = (static_cast<double>(chart.benches.size()) - 1) / 2;
  for (const TrendSpot& spot : chart.spots)
    svg.add(spot_of(spot, frame, apart * (static_cast<double>(spot.bench) - middle)));
  return svg;
}

Node key_of(const TrendChart& chart, const std::string& what) {
  Node list("ul", "key");
  for (std::size_t i = 0; i < chart.benches.size(); ++i)
    list.add(Node("li")
                 .add(drawing(16, 16, "chart", "").add_all(mark_of(i, {8, 8})))
                 .say(what + ", bench " + chart.benches[i]));
  return list;
}

}  // namespace endgate::reports
