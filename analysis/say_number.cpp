#include "analysis/say_number.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

namespace endgate::analysis {
namespace {

constexpr const char* kMinus = "\u2212";
constexpr int kBoundDigits = 10;
constexpr int kMostPlaces = 15;

std::string to_text(double value, std::chars_format format, int precision) {
  std::array<char, 512> buffer{};  // the largest double has 309 digits before the point
  const auto result =
      std::to_chars(buffer.data(), buffer.data() + buffer.size(), value, format, precision);
  return {buffer.data(), result.ptr};
}

double to_double(const std::string& text) {
  double value = 0;
  std::from_chars(text.data(), text.data() + text.size(), value);
  return value;
}

// Correctly rounded decimal text, without sign and groups.
std::string digits_of(double magnitude, int places) {
  if (places >= 0)
    return to_text(magnitude, std::chars_format::fixed, std::min(places, kMostPlaces));
  const int zeros = std::min(-places, 300);
  const std::string head = to_text(magnitude / std::pow(10.0, zeros), std::chars_format::fixed, 0);
  return head == "0" ? head : head + std::string(static_cast<std::size_t>(zeros), '0');
}

bool is_zero(const std::string& digits) {
  return digits.find_first_not_of("0.") == std::string::npos;
}

std::string grouped(const std::string& digits) {
  const std::size_t whole = std::min(digits.find('.'), digits.size());
  std::string text;
  for (std::size_t i = 0; i < whole; ++i) {
    if (i > 0 && (whole - i) % 3 == 0) text += kNoBreakSpace;
    text += digits[i];
  }
  return text + digits.substr(whole);
}

double rounded(double value, int places) {
  return std::copysign(to_double(digits_of(std::abs(value), places)), value);
}

// The bound without the noise of its conversion to SI and back: 44.00000000000001 -> 44.
double tidy(double bound) {
  return to_double(to_text(bound, std::chars_format::scientific, kBoundDigits - 1));
}

int places_of_bound(double bound) {
  const std::string text = to_text(bound, std::chars_format::scientific, kBoundDigits - 1);
  const std::size_t exponent_at = text.find('e');
  const std::size_t last_digit = text.find_last_not_of('0', exponent_at - 1);
  const std::size_t point = std::min(text.find('.'), last_digit);
  const int exponent = static_cast<int>(
      std::lround(to_double(text.substr(exponent_at + (text[exponent_at + 1] == '+' ? 2 : 1)))));
  return static_cast<int>(last_digit - point) - exponent;
}

int side_of(double value, double bound) { return (value > bound) - (value < bound); }

bool shows_its_side(double value, int places, std::span<const double> bounds) {
  return std::all_of(bounds.begin(), bounds.end(), [&](double bound) {
    const double clean = tidy(bound);
    const int side = side_of(value, bound);
    return side != 0 && side_of(rounded(value, places), clean) == side;
  });
}

}  // namespace

int places_for(double uncertainty, int fallback) {
  if (!(uncertainty > 0) || !std::isfinite(uncertainty)) return fallback;
  const std::string text = to_text(uncertainty, std::chars_format::scientific, 6);
  const int exponent = static_cast<int>(std::floor(std::log10(to_double(text))));
  const bool two_digits = text[0] == '1' || text[0] == '2';
  return std::min(-exponent + (two_digits ? 1 : 0), kMostPlaces);
}

std::string say_number(double value, int places) {
  if (!std::isfinite(value)) return "not a number";
  const std::string digits = digits_of(std::abs(value), places);
  const std::string text = grouped(digits);
  return value < 0 && !is_zero(digits) ? kMinus + text : text;
}

std::string say_bound(double bound, int places) {
  if (!std::isfinite(bound) || bound == 0) return say_number(bound, std::max(places, 0));
  return say_number(tidy(bound), std::max({places, places_of_bound(bound), 0}));
}

std::string say_probability(double probability) {
  const double percent = 100 * probability;
  const std::string unit = std::string(kNoBreakSpace) + "%";
  if (percent > 99) return "over 99" + unit;
  if (percent < 1) return "under 1" + unit;
  return say_number(percent, 0) + unit;
}

std::optional<int> places_apart(double value, int places, std::span<const double> bounds) {
  for (int more = 0; more <= kExtraPlaces; ++more)
    if (shows_its_side(value, places + more, bounds)) return places + more;
  return std::nullopt;
}

std::string capitalised(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

}  // namespace endgate::analysis
