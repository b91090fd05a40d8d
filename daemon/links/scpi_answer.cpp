#include "daemon/links/scpi_answer.h"

#include <charconv>
#include <cmath>
#include <limits>

namespace endgate::daemon {
namespace {

constexpr std::string_view kNumber = "{number}";
constexpr double kLeastThatMeansNothing = 9.9e37;

// Takes `literal` from the front of the text, or from its first place when anything may precede it.
bool take(std::string_view& text, std::string_view literal, bool anything_before) {
  const std::size_t at = anything_before ? text.find(literal) : 0;
  if (at == std::string_view::npos || text.substr(at, literal.size()) != literal) return false;
  text.remove_prefix(at + literal.size());
  return true;
}

// What precedes the number: literals with stars between them.
bool take_before(std::string_view& text, std::string_view pattern) {
  bool anything = false;
  while (!pattern.empty()) {
    const std::size_t star = pattern.find('*');
    const std::string_view literal = pattern.substr(0, star);
    if (!literal.empty() && !take(text, literal, anything)) return false;
    if (star == std::string_view::npos) return true;
    anything = true;
    pattern.remove_prefix(star + 1);
  }
  return true;
}

bool fits_after(std::string_view text, std::string_view pattern) {
  if (pattern.ends_with('*')) return take_before(text, pattern);
  const std::size_t star = pattern.rfind('*');
  if (star == std::string_view::npos) return text == pattern;
  return take_before(text, pattern.substr(0, star)) && text.ends_with(pattern.substr(star + 1));
}

std::optional<double> take_number(std::string_view& text) {
  if (text.starts_with('+')) text.remove_prefix(1);
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error == std::errc::invalid_argument) return std::nullopt;
  text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  const bool means_nothing = error != std::errc{} || !(std::abs(value) < kLeastThatMeansNothing);
  return means_nothing ? std::numeric_limits<double>::quiet_NaN() : value;
}

}  // namespace

std::string_view without_blanks(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r\n";
  const std::size_t first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

std::optional<double> number_in(std::string_view answer, std::string_view pattern) {
  const std::size_t at = pattern.find(kNumber);
  if (at == std::string_view::npos) return std::nullopt;
  std::string_view rest = without_blanks(answer);
  if (!take_before(rest, pattern.substr(0, at))) return std::nullopt;
  const std::optional<double> number = take_number(rest);
  if (!number || !fits_after(rest, pattern.substr(at + kNumber.size()))) return std::nullopt;
  return number;
}

std::optional<int> error_number_in(std::string_view answer) {
  answer = without_blanks(answer);
  if (answer.starts_with('+')) answer.remove_prefix(1);
  int number = 0;
  const auto [end, error] = std::from_chars(answer.data(), answer.data() + answer.size(), number);
  const bool whole = end == answer.data() + answer.size() || *end == ',';
  return error == std::errc{} && whole ? std::optional(number) : std::nullopt;
}

}  // namespace endgate::daemon
