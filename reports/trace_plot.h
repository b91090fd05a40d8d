// One channel over the time of a test, with its steps and the stretches that were used.
//
// Numbers in display units.  A piece without a good sample is a gap, never a line across it.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct TracePiece {
  double time_s = 0;
  std::optional<double> lowest{}, highest{};
};
struct StepSpan {
  std::string name{};
  double start_s = 0;
};
struct UsedSpan {
  double start_s = 0, end_s = 0;
};

struct TracePlot {
  std::string quantity{};  // "Outlet pressure, kPa gauge"
  std::string description{};
  std::vector<TracePiece> pieces{};
  std::vector<StepSpan> steps{};
  std::vector<UsedSpan> used{};
  double width = 1270, height = 300;
};

[[nodiscard]] Node draw(const TracePlot& plot);

}  // namespace endgate::reports
