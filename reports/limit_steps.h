// How did limits move from version to version?
//
// A band from the lower to the upper bound for each version, as wide as the others whatever time it
// ruled; a bound that is not there leaves the band open to the edge.  Display units.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct LimitStep {
  std::string name{};  // "Version 2, 2026-09-03"
  std::optional<double> lower{}, upper{};
  std::optional<double> middle{};  // of control limits: their centre
};

struct LimitSteps {
  std::string description{};
  std::string quantity{};  // "Free-air delivery, 400 kPa, L/min"
  std::vector<LimitStep> steps{};
  int decimals = 1;  // of the bounds
  double width = 1000, height = 320;
};

[[nodiscard]] Node draw(const LimitSteps& chart);

}  // namespace endgate::reports
