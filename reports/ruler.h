// On which side of its limit does a value lie, and how far?
//
// The bar stands at 34 % of the width; right of it is good, also for upper limits, whose scale is
// mirrored.  Hatching is the guard band, the open square the value, its whisker ± U.

#pragma once

#include <optional>
#include <string>

#include "reports/node.h"

namespace endgate::reports {

struct Ruler {
  std::optional<double> margin{};  // to the binding limit, > 0 good; absent: no value
  double expanded_u = 0;
  double guard = 0;
  double limit_size = 0;  // of the bound itself, sets the least width shown
  std::string description{};
  double width = 190;
};

[[nodiscard]] Node draw(const Ruler& ruler);

}  // namespace endgate::reports
