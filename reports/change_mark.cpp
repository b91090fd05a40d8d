#include "reports/change_mark.h"

#include "reports/shapes.h"

namespace endgate::reports {

void draw_changes(Node& svg, const Plane& plane, const std::vector<ChangeMark>& changes) {
  for (const ChangeMark& change : changes) {
    const double x = plane.x.at(change.place);
    svg.add(segment({x, plane.y.to - 4}, {x, plane.y.from}, "change"));
    svg.add(label({x, plane.y.to - 8}, change.letter, "middle strong"));
  }
}

}  // namespace endgate::reports
