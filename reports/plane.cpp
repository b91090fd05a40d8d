#include "reports/plane.h"

#include "reports/number.h"
#include "reports/shapes.h"

namespace endgate::reports {
namespace {

constexpr double kTickDrop = 22, kTitleDrop = 46;  // below the lower edge
constexpr double kHalfLetter = 4.5;

void draw_title_below(Node& svg, const Plane& plane, const std::string& title) {
  svg.add(label({plane.x.to, plane.y.from + kTitleDrop}, title, "axis-title end"));
}

}  // namespace

Plane plane_of(double width, double height, const Margins& margins, Span x, Span y) {
  return {.x = {x.low, x.high, margins.left, width - margins.right},
          .y = {y.low, y.high, height - margins.bottom, margins.top}};
}

void draw_rows(Node& svg, const Plane& plane, const std::string& title, int wanted) {
  svg.add(label({8, 16}, title, "axis-title"));
  const Ticks rows = ticks(plane.y.low, plane.y.high, wanted);
  for (const double value : rows.values) {
    const double y = plane.y.at(value);
    svg.add(segment({plane.x.from, y}, {plane.x.to, y}, "grid"));
    svg.add(label({plane.x.from - 8, y + 5}, fixed(value, rows.decimals), "tick end"));
  }
}

void draw_numbers_below(Node& svg, const Plane& plane, const std::string& title, int wanted) {
  const Ticks columns = ticks(plane.x.low, plane.x.high, wanted);
  for (const double value : columns.values)
    svg.add(label({plane.x.at(value), plane.y.from + kTickDrop}, fixed(value, columns.decimals),
                  "tick middle"));
  draw_title_below(svg, plane, title);
}

void draw_names_below(Node& svg, const Plane& plane, const std::string& title,
                      const std::vector<PlaceName>& names, double width) {
  double free_from = 0;
  for (const PlaceName& name : names) {
    const double half = kHalfLetter * static_cast<double>(name.name.size());
    const double x = plane.x.at(name.place);
    if (x - half < free_from || x + half > width) continue;
    svg.add(label({x, plane.y.from + kTickDrop}, name.name, "tick middle"));
    free_from = x + half + 18;
  }
  draw_title_below(svg, plane, title);
}

}  // namespace endgate::reports
