#include "reports/batch_chart.h"

#include <algorithm>
#include <cmath>

#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kDot = 2.5, kRing = 8;

// Batches from `from` up to before `to`, all of them with a number.
struct Stretch {
  std::size_t from = 0, to = 0;
};

std::vector<Stretch> stretches(const std::vector<double>& numbers,
                               const std::vector<std::size_t>& breaks) {
  std::vector<Stretch> found;
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    if (!std::isfinite(numbers[i])) continue;
    const bool goes_on =
        !found.empty() && found.back().to == i && std::ranges::find(breaks, i) == breaks.end();
    if (goes_on)
      ++found.back().to;
    else
      found.push_back({i, i + 1});
  }
  return found;
}

std::vector<Spot> along(const Plane& plane, const std::vector<double>& values,
                        const Stretch& stretch) {
  std::vector<Spot> spots;
  for (std::size_t i = stretch.from; i < stretch.to; ++i)
    spots.push_back({plane.x.at(static_cast<double>(i)), plane.y.at(values[i])});
  return spots;
}

// Half a batch to either side, so that limits of one batch are seen and versions meet.
std::vector<Spot> across(const Plane& plane, const std::vector<double>& values,
                         const Stretch& stretch) {
  std::vector<Spot> spots;
  const auto add = [&](double place, std::size_t at) {
    spots.push_back({plane.x.at(place), plane.y.at(values[at])});
  };
  add(static_cast<double>(stretch.from) - 0.5, stretch.from);
  for (std::size_t i = stretch.from; i < stretch.to; ++i) add(static_cast<double>(i), i);
  add(static_cast<double>(stretch.to) - 0.5, stretch.to - 1);
  return spots;
}

void draw_limits(Node& svg, const BatchChart& chart, const Plane& plane) {
  if (chart.low.empty() || chart.high.empty()) return;
  for (const Stretch& stretch : stretches(chart.low, chart.breaks)) {
    const std::vector<Spot> top = across(plane, chart.high, stretch),
                            bottom = across(plane, chart.low, stretch);
    svg.add(path(between(top, bottom), "band"));
    svg.add(path(through(top), "edge other"));
    svg.add(path(through(bottom), "edge other"));
  }
}

void draw_line(Node& svg, const Plane& plane, const std::vector<double>& values,
               const std::string& class_names) {
  for (const Stretch& stretch : stretches(values, {})) {
    const std::vector<Spot> spots = along(plane, values, stretch);
    svg.add(path(through(spots), class_names));
    for (const Spot& spot : spots) svg.add(circle(spot, kDot, "disc"));
  }
}

double middle_of(const BatchChart& chart, std::size_t at) {
  return at < chart.centres.size() && std::isfinite(chart.centres[at]) ? chart.centres[at] : 0;
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
  for (const Stretch& stretch : stretches(chart.centres, chart.breaks))
    svg.add(path(through(across(plane, chart.centres, stretch)), "centre"));
  draw_changes(svg, plane, chart.changes);
  draw_line(svg, plane, chart.values, "series");
  draw_line(svg, plane, chart.other, "series second");
  for (const std::size_t at : chart.signals)
    if (at < chart.values.size() && std::isfinite(chart.values[at]))
      svg.add(circle({plane.x.at(static_cast<double>(at)), plane.y.at(farther_out(chart, at))},
                     kRing, "ring"));
  return svg;
}

}  // namespace endgate::reports
