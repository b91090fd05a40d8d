#include "daemon/definitions/typed_number.h"

#include <charconv>
#include <cmath>

namespace endgate::daemon {
namespace {

std::optional<double> number_of_text(std::string_view text, std::chars_format format) {
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value, format);
  if (read.ec != std::errc() || read.ptr != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

}  // namespace

std::optional<double> typed_number(std::string_view text) {
  return number_of_text(text, std::chars_format::general);
}

std::optional<double> plain_number(std::string_view text) {
  return number_of_text(text, std::chars_format::fixed);
}

}  // namespace endgate::daemon
