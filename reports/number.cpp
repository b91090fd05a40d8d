#include "reports/number.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace endgate::reports {
namespace {

constexpr int kMostDecimals = 12;
constexpr int kExtraDigits = 4;

std::string plain(double value, int decimals) {
  std::array<char, 400> buffer{};
  const auto end = std::to_chars(buffer.data(), buffer.data() + buffer.size(), value,
                                 std::chars_format::fixed, std::clamp(decimals, 0, kMostDecimals));
  return {buffer.data(), end.ptr};
}

double rounded(double value, int decimals) {
  const std::string text = plain(value, decimals);
  double result = 0;
  std::from_chars(text.data(), text.data() + text.size(), result);
  return result;
}

std::string grouped(const std::string& digits) {
  const std::size_t whole = std::min(digits.find('.'), digits.size());
  std::string out;
  for (std::size_t i = 0; i < whole; ++i) {
    if (i > 0 && (whole - i) % 3 == 0) out += kNoBreak;
    out += digits[i];
  }
  return out + digits.substr(whole);
}

// The number a reader takes from the bound as it is written beside the value.
double bound_as_read(double bound, int decimals) {
  for (int d = decimals; d <= 6; ++d) {
    const double r = rounded(bound, d);
    if (std::abs(r - bound) <= 1e-7 * std::abs(bound)) return r;
  }
  return rounded(bound, 6);
}

int side(double value, double bound) { return value < bound ? -1 : value > bound ? 1 : 0; }

bool shows_true_side(double value, int decimals, int bound_decimals, double bound) {
  // A value within rounding noise of the bound is on it, as the grading sees it.
  return side(rounded(value, decimals), bound_as_read(bound, bound_decimals)) == side(value, bound);
}

}  // namespace

std::string fixed(double value, int decimals) {
  if (!std::isfinite(value)) return kMissing;
  std::string digits = plain(std::abs(value), decimals);
  const bool zero = digits.find_first_of("123456789") == std::string::npos;
  return (value < 0 && !zero ? "−" : "") + grouped(digits);
}

std::string with_sign(double change, int decimals) {
  const std::string text = fixed(change, decimals);
  const bool zero = text.find_first_of("123456789") == std::string::npos;
  return change > 0 && !zero && std::isfinite(change) ? "+" + text : text;
}

int decimals_of_uncertainty(double expanded_u) {
  const int exponent = static_cast<int>(std::floor(std::log10(expanded_u)));
  const double first = expanded_u / std::pow(10.0, exponent);
  const int digits = first < 3 ? 2 : 1;
  return std::clamp(digits - 1 - exponent, 0, kMostDecimals - kExtraDigits);
}

std::string bound_text(double bound, int decimals) {
  for (int d = decimals; d < 6; ++d)
    if (std::abs(rounded(bound, d) - bound) <= 1e-7 * std::abs(bound)) return fixed(bound, d);
  return fixed(bound, 6);
}

std::string WrittenReading::text(const std::string& unit) const {
  const std::string tail = unit.empty() ? "" : kNoBreak + unit;
  if (value == kMissing) return value;
  if (u.empty()) return value + tail + ", uncertainty not known";
  return value + kNoBreak + "±" + kNoBreak + u + tail;
}

WrittenReading write_reading(const Reading& reading, std::span<const double> bounds) {
  if (!reading.value || !std::isfinite(*reading.value)) return {.value = kMissing, .u = ""};
  const bool known =
      reading.expanded_u && std::isfinite(*reading.expanded_u) && *reading.expanded_u > 0;
  const int first = known ? decimals_of_uncertainty(*reading.expanded_u) : reading.decimals;
  for (int d = first; d <= first + kExtraDigits; ++d) {
    const auto fits = [&](double bound) {
      return shows_true_side(*reading.value, d, first, bound);
    };
    if (!std::all_of(bounds.begin(), bounds.end(), fits)) continue;
    return {fixed(*reading.value, d), known ? fixed(*reading.expanded_u, d) : "", d};
  }
  return {"at the limit", known ? fixed(*reading.expanded_u, first) : "", first};
}

}  // namespace endgate::reports
