// The ground of every drawing over two quantities: where a number lies, and what is written along.

#pragma once

#include <string>
#include <vector>

#include "reports/axis.h"
#include "reports/node.h"

namespace endgate::reports {

struct Margins {
  double left = 64, right = 24, top = 34, bottom = 60;
};

// x runs from left to right, y upwards: y.from is the lower edge.
struct Plane {
  Axis x, y;
};
[[nodiscard]] Plane plane_of(double width, double height, const Margins& margins, Span x, Span y);

// Lines across at round numbers with the number beside; `title` upright at the top.
void draw_rows(Node& svg, const Plane& plane, const std::string& title, int wanted = 5);

// Round numbers below; `title` under their end.
void draw_numbers_below(Node& svg, const Plane& plane, const std::string& title, int wanted);

struct PlaceName {
  double place = 0;
  std::string name{};
};
// Names below, as many as have room up to `width`.
void draw_names_below(Node& svg, const Plane& plane, const std::string& title,
                      const std::vector<PlaceName>& names, double width);

}  // namespace endgate::reports
