// Is this text a day, and which?  "2027-02-14", a day of the plant's calendar.

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace endgate::daemon {

// Nothing: not of that form, or no such day.
[[nodiscard]] std::optional<std::chrono::sys_days> date_of(std::string_view text);
[[nodiscard]] std::string say_date(std::chrono::sys_days day);
[[nodiscard]] std::chrono::sys_days day_of(std::int64_t utc_ms);

}  // namespace endgate::daemon
