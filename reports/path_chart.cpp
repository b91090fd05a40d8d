#include "reports/path_chart.h"

#include <algorithm>

#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

Span values_of_path(const PathChart& chart) {
  double low = chart.spots.front().value, high = low;
  const auto take = [&](double value) { low = std::min(low, value), high = std::max(high, value); };
  for (const PathSpot& spot : chart.spots) {  // whiskers stay inside
    take(spot.value - spot.expanded_u);
    take(spot.value + spot.expanded_u);
  }
  for (const PathLine& point : chart.line) take(point.value);
  for (const PathLimit& limit : chart.limits) take(limit.at);
  const double pad = std::max(0.06 * (high - low), 1e-9);
  return widened(low - pad, high + pad, 5);
}

void draw_line(Node& svg, const PathChart& chart, const Plane& plane) {
  std::vector<Spot> line, low, high;
  const auto inside = [&](double value) {
    return plane.y.at(std::clamp(value, plane.y.low, plane.y.high));
  };
  for (const PathLine& point : chart.line) {
    const double x = plane.x.at(point.time);
    line.push_back({x, inside(point.value)});
    low.push_back({x, inside(point.low)});
    high.push_back({x, inside(point.high)});
  }
  if (line.empty()) return;
  svg.add(path(between(high, low), "u-band")).add(path(through(line), "curve"));
}

void draw_limit(Node& svg, const PathChart& chart, const Plane& plane, const PathLimit& limit) {
  const double y = plane.y.at(limit.at);
  svg.add(segment({plane.x.from, y}, {plane.x.to, y}, "edge"));
  svg.add(label({plane.x.from + 8, y - 7}, limit.words, "end-label"));
  if (!limit.from) return;
  const double from = plane.x.at(std::min(*limit.from, chart.until));
  const double to = limit.to ? plane.x.at(std::min(*limit.to, chart.until)) : plane.x.to;
  svg.add(segment({from, y}, {to, y}, "curve"));
  svg.add(segment({from, y - 8}, {from, y + 8}, "post"));
  if (limit.to && *limit.to <= chart.until) svg.add(segment({to, y - 8}, {to, y + 8}, "post"));
}

}  // namespace

Node draw(const PathChart& chart) {
  Node svg = drawing(chart.width, chart.height, "chart", chart.description);
  if (chart.spots.empty()) return svg;
  const Plane plane =
      plane_of(chart.width, chart.height, {}, widened(0, chart.until, 8), values_of_path(chart));
  draw_rows(svg, plane, chart.quantity, 5);
  draw_numbers_below(svg, plane, chart.time_title, 8);
  draw_line(svg, chart, plane);
  for (const PathLimit& limit : chart.limits) draw_limit(svg, chart, plane, limit);
  const double per_unit = (plane.y.from - plane.y.to) / (plane.y.high - plane.y.low);
  for (const PathSpot& spot : chart.spots)
    svg.add_all(value_mark({plane.x.at(spot.time), plane.y.at(spot.value)},
                           spot.expanded_u * per_unit, true));
  return svg;
}

}  // namespace endgate::reports
