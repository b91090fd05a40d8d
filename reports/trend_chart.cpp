#include "reports/trend_chart.h"

#include <algorithm>
#include <cmath>

#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

Plane plane_of_trend(const TrendChart& chart) {
  std::vector<double> y;
  double last = 0;
  for (const TrendSpot& spot : chart.spots) {
    y.insert(y.end(), {spot.low, spot.high, spot.value});
    last = std::max(last, spot.place);
  }
  y.insert(y.end(), chart.line.begin(), chart.line.end());
  if (chart.lower) y.push_back(*chart.lower);
  if (chart.upper) y.push_back(*chart.upper);
  if (y.empty()) y = {0, 1};
  const auto [low, high] = std::minmax_element(y.begin(), y.end());
  const double pad = 0.06 * (*high - *low);
  return plane_of(chart.width, chart.height, {}, {-0.5, last + 0.5},
                  widened(*low - pad, *high + pad, 5));
}

void draw_bound(Node& svg, const Plane& plane, double value, double guard, bool lower,
                const std::string& words) {
  const double y = plane.y.at(value);
  const double good = plane.y.at(lower ? value + guard : value - guard);
  std::string strokes;
  if (std::abs(good - y) > 1)
    for (double x = plane.x.from; x + 8 < plane.x.to; x += 9)
      strokes += "M" + length(x) + " " + length(std::max(y, good)) + "L" + length(x + 8) + " " +
                 length(std::min(y, good));
  if (!strokes.empty()) svg.add(path(strokes, "hatch"));
  svg.add(segment({plane.x.from, y}, {plane.x.to, y}, lower ? "edge" : "edge other"));
  svg.add(label({plane.x.to - 6, lower ? y + 18 : y - 7}, words, "end-label end"));
}

void draw_band(Node& svg, const TrendChart& chart, const Plane& plane) {
  if (!chart.lower && !chart.upper) return;
  const double top = chart.upper ? plane.y.at(*chart.upper) : plane.y.to;
  const double bottom = chart.lower ? plane.y.at(*chart.lower) : plane.y.from;
  svg.add(rect(plane.x.from, top, plane.x.to - plane.x.from, std::max(0.0, bottom - top), "band"));
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

Node spot_of(const TrendSpot& spot, const Plane& plane, double shift) {
  const Spot at{plane.x.at(spot.place) + shift, plane.y.at(spot.value)};
  Node link("a", "spot");
  link.set("href", spot.href).set("aria-label", spot.said);
  if (spot.verdict == "fail" || spot.verdict == "undecided") link.add(circle(at, 10, "ring"));
  if (spot.high > spot.low)
    link.add(segment({at.x, plane.y.at(spot.low)}, {at.x, plane.y.at(spot.high)}, "whisker"));
  return std::move(link).add_all(mark_of(spot.bench, at));
}

std::string dotted(const TrendChart& chart, const Plane& plane) {
  std::vector<Spot> spots;
  for (const double value : chart.line)
    spots.push_back({plane.x.at(static_cast<double>(spots.size())), plane.y.at(value)});
  return through(spots);
}

}  // namespace

Node draw(const TrendChart& chart) {
  const Plane plane = plane_of_trend(chart);
  Node svg = drawing(chart.width, chart.height, "chart trend-chart", "");
  for (auto& [name, value] : svg.attributes)  // a group: its marks are links of their own
    if (name == "role") value = "group";
  svg.attributes.back() = {"aria-label", chart.description};
  draw_band(svg, chart, plane);
  draw_rows(svg, plane, chart.unit);
  draw_names_below(svg, plane, chart.place_title, chart.names, chart.width);
  if (chart.lower) draw_bound(svg, plane, *chart.lower, chart.guard, true, chart.lower_words);
  if (chart.upper) draw_bound(svg, plane, *chart.upper, chart.guard, false, chart.upper_words);
  draw_changes(svg, plane, chart.changes);
  if (!chart.line.empty()) svg.add(path(dotted(chart, plane), "removed"));
  const double places = plane.x.high - plane.x.low;
  const double apart = std::min(12.0, 0.3 * (plane.x.to - plane.x.from) / places);
  const double middle = (static_cast<double>(chart.benches.size()) - 1) / 2;
  for (const TrendSpot& spot : chart.spots)
    svg.add(spot_of(spot, plane, apart * (static_cast<double>(spot.bench) - middle)));
  return svg;
}

Node key_of(const TrendChart& chart, const std::string& what) {
  Node list("ul", "key");
  for (std::size_t i = 0; i < chart.benches.size(); ++i)
    list.add(Node("li")
                 .add(drawing(16, 16, "chart", "").add_all(mark_of(i, {8, 8})))
                 .say(what + ", bench " + chart.benches[i]));
  const auto line_sample = [&](const char* form, const std::string& words) {
    list.add(Node("li")
                 .add(drawing(48, 16, "chart", "").add(segment({0, 8}, {48, 8}, form)))
                 .say(words));
  };
  if (!chart.line.empty()) line_sample("removed", chart.line_words);
  if (!chart.changes.empty()) line_sample("change", "change of level");
  return list;
}

}  // namespace endgate::reports
