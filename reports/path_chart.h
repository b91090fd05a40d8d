// How does a value move over time, and where does it meet its limits?
//
// One mark per test with its whisker, the fitted line with its 95 % band, limits across, and where
// the line meets one a bar over the times that the points allow.  Display units.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct PathSpot {
  double time = 0, value = 0;
  double expanded_u = 0;  // 0: not known
};
struct PathLine {
  double time = 0, value = 0, low = 0, high = 0;
};
struct PathLimit {
  double at = 0;
  std::string words{};                 // "lower limit"
  std::optional<double> from{}, to{};  // times at which it is reached; absent: not told
};

struct PathChart {
  std::string description{};
  std::string quantity{}, time_title{};  // "Flow at 400 kPa, L/min", "Hours on benches"
  std::vector<PathSpot> spots{};
  std::vector<PathLine> line{};  // by time; empty: none
  std::vector<PathLimit> limits{};
  double until = 1;  // the latest time drawn
  double width = 1000, height = 380;
};

[[nodiscard]] Node draw(const PathChart& chart);

}  // namespace endgate::reports
