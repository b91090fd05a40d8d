#include "daemon/definitions/date.h"

#include <array>
#include <charconv>
#include <cstdio>

namespace endgate::daemon {
namespace {

constexpr std::size_t kLength = 10;

std::optional<int> number_in(std::string_view digits) {
  int value = 0;
  const char* const end = digits.data() + digits.size();
  const auto read = std::from_chars(digits.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end || value < 0) return std::nullopt;
  return value;
}

}  // namespace

std::optional<std::chrono::sys_days> date_of(std::string_view text) {
  if (text.size() != kLength || text[4] != '-' || text[7] != '-') return std::nullopt;
  const auto year = number_in(text.substr(0, 4));
  const auto month = number_in(text.substr(5, 2));
  const auto day = number_in(text.substr(8, 2));
  if (!year || !month || !day) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(*year),
                                         std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok()) return std::nullopt;
  return std::chrono::sys_days(date);
}

std::string say_date(std::chrono::sys_days day) {
  const std::chrono::year_month_day date(day);
  std::array<char, 32> text{};
  const int size =
      std::snprintf(text.data(), text.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                    static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return {text.data(), static_cast<std::size_t>(size)};
}

std::chrono::sys_days day_of(std::int64_t utc_ms) {
  return std::chrono::floor<std::chrono::days>(
      std::chrono::sys_time<std::chrono::milliseconds>(std::chrono::milliseconds(utc_ms)));
}

}  // namespace endgate::daemon
