// One metric over units or batches, each bench with its own form of mark.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/change_mark.h"
#include "reports/node.h"
#include "reports/plane.h"

namespace endgate::reports {

struct TrendSpot {
  double place = 0;       // 0, 1, 2 ... along the axis
  std::size_t bench = 0;  // index in TrendChart::benches
  double value = 0;
  double low = 0, high = 0;  // whisker
  std::string said{};        // "Batch 26-B1, bench north: 48.1 L/min, 12 units"
  std::string href{};        // where Enter leads
  std::string verdict{};     // of a single test; empty for a batch
};

struct TrendChart {
  std::string description{}, unit{}, place_title{};
  std::vector<std::string> benches{};
  std::vector<TrendSpot> spots{};
  std::vector<PlaceName> names{};
  std::optional<double> lower{}, upper{};
  std::string lower_words{}, upper_words{};  // "lower limit 45.0"
  double guard = 0;
  std::vector<double> line{};  // dotted, one number a place: "bench effect taken out"
  std::string line_words{};
  std::vector<ChangeMark> changes{};
  double width = 1290, height = 420;
};

[[nodiscard]] Node draw(const TrendChart& chart);
// Which mark belongs to which bench, and what the dotted line is.
[[nodiscard]] Node key_of(const TrendChart& chart, const std::string& what);

}  // namespace endgate::reports
