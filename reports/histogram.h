// How do the values of many units lie against the limits: those in force and those of a draft?

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct HistogramBound {
  double at = 0;
  std::string words{};  // "lower limit 44.0"
  bool draft = false;   // drawn dashed, its words in a row of their own
};

struct Histogram {
  std::string description{};
  std::string quantity{};        // "Free-air delivery, 400 kPa, L/min"
  std::vector<double> values{};  // display units
  std::vector<HistogramBound> bounds{};
  double width = 1270, height = 300;
};

[[nodiscard]] Node draw(const Histogram& histogram);

}  // namespace endgate::reports
