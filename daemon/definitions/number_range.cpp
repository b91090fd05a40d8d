#include "daemon/definitions/number_range.h"

#include <array>
#include <charconv>
#include <cmath>

namespace endgate::daemon {

std::string plain_number(double value) {
  std::array<char, 32> text{};
  const auto [end, error] = std::to_chars(text.data(), text.data() + text.size(), value);
  return error == std::errc{} ? std::string(text.data(), end) : "?";
}

std::string NumberRange::words(const std::string& noun) const {
  const bool bounded_below = std::isfinite(min);
  const bool bounded_above = std::isfinite(max);
  if (bounded_below && bounded_above) {
    const char* from = min_excluded ? " above " : " from ";
    return noun + from + plain_number(min) + (min_excluded ? " up to " : " to ") +
           plain_number(max);
  }
  if (bounded_below) return noun + (min_excluded ? " above " : " of at least ") + plain_number(min);
  if (bounded_above) return noun + " of at most " + plain_number(max);
  return noun;
}

}  // namespace endgate::daemon
