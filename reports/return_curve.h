// What share of units has come back by which age, and how sure is that?
//
// Shares in per cent, ages in months.  A step at each age a unit came back, its 95 % band, and
// dashed the form fitted to it, drawn no farther than the oldest unit.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct ReturnStep {
  double months = 0;
  double back = 0, low = 0, high = 0;
};
struct ReturnCurve {
  std::string description{};
  std::vector<ReturnStep> steps{};                // by age, rising
  std::vector<std::pair<double, double>> form{};  // months, per cent; empty: none
  double oldest_months = 1;
  double width = 620, height = 300;
};

[[nodiscard]] Node draw(const ReturnCurve& curve);

}  // namespace endgate::reports
