#include "reports/return_curve.h"

#include <algorithm>

#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

// From age 0 to the oldest unit, level until the next step; `first` before it.
std::vector<Spot> stairs(const ReturnCurve& curve, const Plane& plane, double ReturnStep::*height,
                         double first) {
  double level = first;
  std::vector<Spot> spots{{plane.x.at(0), plane.y.at(level)}};
  for (const ReturnStep& step : curve.steps) {
    spots.push_back({plane.x.at(step.months), plane.y.at(level)});
    level = step.*height;
    spots.push_back({plane.x.at(step.months), plane.y.at(level)});
  }
  spots.push_back({plane.x.at(curve.oldest_months), plane.y.at(level)});
  return spots;
}

double highest(const ReturnCurve& curve) {
  double most = 0.1;
  for (const ReturnStep& step : curve.steps) most = std::max(most, step.high);
  for (const auto& [months, back] : curve.form) most = std::max(most, back);
  return most;
}

}  // namespace

Node draw(const ReturnCurve& curve) {
  Node svg = drawing(curve.width, curve.height, "chart", curve.description);
  const Span x = widened(0, curve.oldest_months, 8), y = widened(0, highest(curve), 5);
  const Plane plane = plane_of(curve.width, curve.height, {.right = 12, .top = 44}, x, y);
  svg.add(path(between(stairs(curve, plane, &ReturnStep::high, 0),
                       stairs(curve, plane, &ReturnStep::low, 0)),
               "u-band"));
  draw_rows(svg, plane, "Came back, % of released units", 5);
  draw_numbers_below(svg, plane, "Months in use", 8);
  std::vector<Spot> form;
  for (const auto& [months, back] : curve.form)
    form.push_back({plane.x.at(months), plane.y.at(back)});
  svg.add(path(through(form), "series second"));
  svg.add(path(through(stairs(curve, plane, &ReturnStep::back, 0)), "curve"));
  return svg;
}

}  // namespace endgate::reports
