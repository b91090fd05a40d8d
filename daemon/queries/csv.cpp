#include "daemon/queries/csv.h"

#include <array>
#include <charconv>
#include <chrono>
#include <cstdio>

namespace endgate::daemon {
namespace {

constexpr std::string_view kFormulaStarts = "=+-@\t\r";

bool looks_like_formula(std::string_view text) {
  return !text.empty() && kFormulaStarts.find(text.front()) != std::string_view::npos;
}

std::string csv_quoted(std::string_view text) {
  std::string field = "\"";
  for (const char c : text) field += c == '"' ? std::string("\"\"") : std::string(1, c);
  return field + "\"";
}

}  // namespace

std::string csv_text(std::string_view text) {
  const std::string safe = (looks_like_formula(text) ? "'" : "") + std::string(text);
  return safe.find_first_of(",\"\r\n") == std::string::npos ? safe : csv_quoted(safe);
}

std::string csv_number(std::optional<double> number, int digits) {
  if (!number) return {};
  std::array<char, 64> text{};
  char* const end = text.data() + text.size();
  const std::to_chars_result written =
      digits > 0 ? std::to_chars(text.data(), end, *number, std::chars_format::general, digits)
                 : std::to_chars(text.data(), end, *number);
  return {text.data(), written.ptr};
}

std::string csv_utc(std::int64_t utc_ms) {
  using namespace std::chrono;
  const sys_time<milliseconds> instant{milliseconds(utc_ms)};
  const sys_days day = floor<days>(instant);
  const year_month_day date{day};
  const hh_mm_ss<milliseconds> time{instant - day};
  std::array<char, 64> text{};
  std::snprintf(text.data(), text.size(), "%04d-%02u-%02uT%02d:%02d:%02d.%03dZ",
                static_cast<int>(date.year()), static_cast<unsigned>(date.month()),
                static_cast<unsigned>(date.day()), static_cast<int>(time.hours().count()),
                static_cast<int>(time.minutes().count()), static_cast<int>(time.seconds().count()),
                static_cast<int>(time.subseconds().count()));
  return text.data();
}

}  // namespace endgate::daemon
