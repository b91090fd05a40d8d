// Where did the level of a series change?  A dash-dotted line with a letter, the same in every
// drawing of one page.

#pragma once

#include <string>
#include <vector>

#include "reports/plane.h"

namespace endgate::reports {

struct ChangeMark {
  double place = 0;      // between the last place of the old level and the first of the new
  std::string letter{};  // "A"
};
void draw_changes(Node& svg, const Plane& plane, const std::vector<ChangeMark>& changes);

}  // namespace endgate::reports
