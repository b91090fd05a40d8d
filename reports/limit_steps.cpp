#include "reports/limit_steps.h"

#include <algorithm>
#include <cmath>

#include "reports/number.h"
#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

std::optional<Span> bounds_in(const LimitSteps& chart) {
  std::optional<Span> span;
  const auto take = [&](const std::optional<double>& bound) {
    if (!bound) return;
    if (!span) span = Span{*bound, *bound};
    span->low = std::min(span->low, *bound);
    span->high = std::max(span->high, *bound);
  };
  for (const LimitStep& step : chart.steps)
    for (const auto& bound : {step.lower, step.upper, step.middle}) take(bound);
  return span;
}

// A bound of one version, with its number, joined to that of the version before.
void draw_bound(Node& svg, const LimitSteps& chart, const Plane& plane,
                std::optional<double> LimitStep::*bound, const char* class_names, double above) {
  for (std::size_t i = 0; i < chart.steps.size(); ++i) {
    const std::optional<double>& now = chart.steps[i].*bound;
    if (!now) continue;
    const double from = plane.x.at(static_cast<double>(i)), y = plane.y.at(*now);
    const double to = plane.x.at(static_cast<double>(i + 1));
    svg.add(segment({from, y}, {to, y}, class_names));
    const std::optional<double> before = i > 0 ? chart.steps[i - 1].*bound : std::nullopt;
    if (before) svg.add(segment({from, plane.y.at(*before)}, {from, y}, class_names));
    if (i == 0 || !before || *before != *now)
      svg.add(label({from + 8, y + above}, fixed(*now, chart.decimals), "end-label"));
  }
}

void draw_band(Node& svg, const LimitSteps& chart, const Plane& plane) {
  for (std::size_t i = 0; i < chart.steps.size(); ++i) {
    const LimitStep& step = chart.steps[i];
    if (!step.lower && !step.upper) continue;
    const double top = step.upper ? plane.y.at(*step.upper) : plane.y.to;
    const double bottom = step.lower ? plane.y.at(*step.lower) : plane.y.from;
    const double from = plane.x.at(static_cast<double>(i));
    svg.add(rect(from, top, plane.x.at(static_cast<double>(i + 1)) - from, bottom - top, "u-band"));
  }
}

}  // namespace

Node draw(const LimitSteps& chart) {
  Node svg = drawing(chart.width, chart.height, "chart", chart.description);
  const auto bounds = bounds_in(chart);
  if (!bounds) return svg;
  const double size = std::max(bounds->high - bounds->low, 0.1 * std::abs(bounds->high));
  const double pad = std::max(0.2 * size, 1e-6);
  const Span versions{0, static_cast<double>(chart.steps.size())};
  const Plane plane = plane_of(chart.width, chart.height, {}, versions,
                               widened(bounds->low - pad, bounds->high + pad, 5));
  draw_rows(svg, plane, chart.quantity, 5);
  std::vector<PlaceName> names;
  for (std::size_t i = 0; i < chart.steps.size(); ++i)
    names.push_back({static_cast<double>(i) + 0.5, chart.steps[i].name});
  draw_names_below(svg, plane, "Version", names, chart.width);
  draw_band(svg, chart, plane);
  draw_bound(svg, chart, plane, &LimitStep::upper, "edge", -8);
  draw_bound(svg, chart, plane, &LimitStep::middle, "curve", -8);
  draw_bound(svg, chart, plane, &LimitStep::lower, "edge", 20);
  return svg;
}

}  // namespace endgate::reports
