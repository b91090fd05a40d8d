#include "reports/study_chart.h"

#include <algorithm>

#include "reports/end_labels.h"
#include "reports/plane.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kReach = 0.5;  // of a column's width, over which its places are spread
constexpr const char* kLines[] = {"series", "series second", "series third", "series fourth"};

double place_x(const StudyChart& chart, const Plane& plane, std::size_t unit, std::size_t place) {
  const double count = static_cast<double>(chart.places.size());
  const double aside = kReach * ((static_cast<double>(place) + 0.5) / count - 0.5);
  return plane.x.at(static_cast<double>(unit) + 0.5 + aside);
}

Plane plane_of_study(const StudyChart& chart) {
  const auto [low, high] = std::ranges::minmax(chart.spots, {}, &StudySpot::value);
  const double pad = std::max(0.06 * (high.value - low.value), 1e-9);
  return plane_of(chart.width, chart.height, {.right = 150},
                  {0, static_cast<double>(chart.units.size())},
                  widened(low.value - pad, high.value + pad, 5));
}

// Marks differ in form before they differ by place.
Node mark_of_place(Spot at, std::size_t place) {
  switch (place % 4) {
    case 0:
      return circle(at, 4.5, "disc");
    case 1:
      return rect(at.x - 4.5, at.y - 4.5, 9, 9, "mark");
    case 2:
      return path("M" + length(at.x - 5) + " " + length(at.y + 4) + "L" + length(at.x) + " " +
                      length(at.y - 5) + "L" + length(at.x + 5) + " " + length(at.y + 4) + "Z",
                  "mark");
    default:
      return circle(at, 4.5, "mark");
  }
}

// Nothing where the place has no test of the unit.
std::vector<Spot> means_of(const StudyChart& chart, const Plane& plane, std::size_t place) {
  std::vector<Spot> means;
  for (std::size_t unit = 0; unit < chart.units.size(); ++unit) {
    double sum = 0, count = 0;
    for (const StudySpot& spot : chart.spots)
      if (spot.unit == unit && spot.place == place) sum += spot.value, count += 1;
    if (count > 0) means.push_back({place_x(chart, plane, unit, place), plane.y.at(sum / count)});
  }
  return means;
}

void draw_units(Node& svg, const Plane& plane, const StudyChart& chart) {
  std::vector<PlaceName> names;
  for (std::size_t unit = 0; unit < chart.units.size(); ++unit) {
    const double place = static_cast<double>(unit) + 0.5;
    names.push_back({place, chart.units[unit]});
    if (unit > 0)
      svg.add(segment({plane.x.at(place - 0.5), plane.y.from},
                      {plane.x.at(place - 0.5), plane.y.to}, "grid"));
  }
  draw_names_below(svg, plane, "Unit", names, chart.width);
}

}  // namespace

Node draw(const StudyChart& chart) {
  Node svg = drawing(chart.width, chart.height, "chart", chart.description);
  if (chart.spots.empty()) return svg;
  const Plane plane = plane_of_study(chart);
  draw_rows(svg, plane, chart.quantity, 5);
  draw_units(svg, plane, chart);
  std::vector<EndLabel> labels;
  for (std::size_t place = 0; place < chart.places.size(); ++place) {
    const std::vector<Spot> means = means_of(chart, plane, place);
    if (means.empty()) continue;
    svg.add(path(through(means), kLines[place % 4]));
    labels.push_back({means.back().y, chart.places[place], ""});
  }
  for (const StudySpot& spot : chart.spots)
    svg.add(mark_of_place({place_x(chart, plane, spot.unit, spot.place), plane.y.at(spot.value)},
                          spot.place));
  const LabelRoom room{.x = plane.x.to + 8, .top = plane.y.to, .bottom = plane.y.from};
  return std::move(svg).add_all(draw_end_labels(std::move(labels), room));
}

}  // namespace endgate::reports
