// Which numbers may stand here, in words and as a check?

#pragma once

#include <limits>
#include <string>

namespace endgate::daemon {

struct NumberRange {
  double min = -std::numeric_limits<double>::infinity();
  double max = std::numeric_limits<double>::infinity();
  bool min_excluded = false;

  [[nodiscard]] bool holds(double value) const {
    return (min_excluded ? value > min : value >= min) && value <= max;
  }
  [[nodiscard]] std::string words(const std::string& noun) const;  // "a number above 0"
};

inline constexpr NumberRange kAnyNumber{};
inline constexpr NumberRange kAboveZero{.min = 0, .min_excluded = true};
inline constexpr NumberRange kNotNegative{.min = 0};
inline constexpr NumberRange kShare{.min = 0, .max = 1};

// "0.5", "1000000": shortest text that reads back as the same number.
[[nodiscard]] std::string plain_number(double value);

}  // namespace endgate::daemon
