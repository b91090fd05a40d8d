// What is most frequent?  Bars in order of count, each share with its interval and its words.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct ShareBar {
  std::string name{};        // "Speed at 600 kPa above its upper limit"
  double share = 0;          // of 1
  double low = 0, high = 0;  // interval
  std::string said{};        // at the end of the bar: "93.7 % (84.8 to 97.5 %), 59 of 63"
};

[[nodiscard]] Node draw_bars(const std::vector<ShareBar>& bars, const std::string& description,
                             double width = 1270);

}  // namespace endgate::reports
