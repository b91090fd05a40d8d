#include "reports/batch_chart.h"

#include <algorithm>
#include <cmath>

#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kDot = 2.5, kRing = 8;

std::vector<Spot> along(const Plane& plane, const std::vector<double>& values) {
  std::vector<Spot> spots;
  for (std::size_t i = 0; i < values.size(); ++i)
    spots.push_back({plane.x.at(static_cast<double>(i)), plane.y.at(values[i])});
  return spots;
}

void draw_limits(Node& svg, const BatchChart& chart, const Plane& plane) {
  if (chart.low.empty() || chart.high.empty()) return;
  const std::vector<Spot> top = along(plane, chart.high), bottom = along(plane, chart.low);
  svg.add(path(between(top, bottom), "band"));
  svg.add(path(through(top), "edge other"));
  svg.add(path(through(bottom), "edge other"));
}

void draw_line(Node& svg, const Plane& plane, const std::vector<double>& values,
               const std::string& class_names) {
  if (values.empty()) return;
  const std::vector<Spot> spots = along(plane, values);
  svg.add(path(through(spots), class_names));
  for (const Spot& spot : spots) svg.add(circle(spot, kDot, "disc"));
}

double middle_of(const BatchChart& chart, std::size_t at) {
  if (chart.centre) return *chart.centre;
  return at < chart.low.size() && at < chart.high.size() ? (chart.low[at] + chart.high[at]) / 2 : 0;
}

double farther_out(const BatchChart& chart, std::size_t at) {
  if (at >= chart.other.size()) return chart.values[at];
  const double middle = middle_of(chart, at);
  return std::abs(chart.other[at] - middle) > std::abs(chart.values[at] - middle)
             ? chart.other[at]
             : chart.values[at];
}

}  // namespace

Span span_of(const BatchChart& chart) {
  Span span{HUGE_VAL, -HUGE_VAL};
  for (const std::vector<double>* numbers : {&chart.values, &chart.other, &chart.low, &chart.high})
    for (const double number : *numbers)
      if (std::isfinite(number)) span = {std::min(span.low, number), std::max(span.high, number)};
  return span.low <= span.high ? span : Span{};
}

Node draw(const BatchChart& chart) {
  Node svg = drawing(chart.width, chart.height, "chart", chart.description);
  Span y = span_of(chart);
  if (chart.at_least)
    y = {std::min(y.low, chart.at_least->low), std::max(y.high, chart.at_least->high)};
  const double last = std::max(1.0, static_cast<double>(chart.values.size()));
  const Plane plane = plane_of(chart.width, chart.height, {.right = 12, .top = 44, .bottom = 52},
                               {-0.5, last - 0.5}, widened(y.low, y.high, 4));
  draw_limits(svg, chart, plane);
  draw_rows(svg, plane, chart.unit, 4);
  draw_names_below(svg, plane, "Batch", chart.names, chart.width);
  if (chart.centre) {
    const double middle = plane.y.at(*chart.centre);
    svg.add(segment({plane.x.from, middle}, {plane.x.to, middle}, "centre"));
  }
  draw_changes(svg, plane, chart.changes);
  draw_line(svg, plane, chart.values, "series");
  draw_line(svg, plane, chart.other, "series second");
  for (const std::size_t at : chart.signals)
    if (at < chart.values.size())
      svg.add(circle({plane.x.at(static_cast<double>(at)), plane.y.at(farther_out(chart, at))},
                     kRing, "ring"));
  return svg;
}

}  // namespace endgate::reports
