// How is one field of a CSV file written?
//
// RFC 4180: a field with comma, quote or line break is quoted, quotes inside are doubled, lines end
// in CR LF.  A text that a spreadsheet would take for a formula (it begins with = + - @, tab or CR)
// gets an apostrophe in front: serials, batches and reasons come from outside.  Numbers never do.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace endgate::daemon {

inline constexpr std::string_view kCsvLineEnd = "\r\n";

[[nodiscard]] std::string csv_text(std::string_view text);

// Point as decimal sign whatever the locale; a missing number is an empty field.  `digits`
// significant ones, or as many as give the same double back when 0.
[[nodiscard]] std::string csv_number(std::optional<double> number, int digits = 0);

// "2026-11-25T10:42:00.123Z"
[[nodiscard]] std::string csv_utc(std::int64_t utc_ms);

}  // namespace endgate::daemon
