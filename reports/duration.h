// How is a stretch of time written where there is little room?
//
// Seconds up to 999, then minutes up to 99, then hours; rounded up, since it says what is to come.

#pragma once

#include <string>

namespace endgate::reports {

struct Duration {
  std::string number{};  // "62"
  std::string unit{};    // "s", "min" or "h"
};

[[nodiscard]] Duration duration(double seconds);
[[nodiscard]] std::string duration_text(double seconds);  // "62 s", "12 h"

}  // namespace endgate::reports
