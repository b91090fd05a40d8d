// The tables of trend.db and the few things its writer and its readers both do with them.
//
//   taken    one row: how far truth was taken over, and with which head
//   name     texts by number
//   series   a column of a model, "fad_400/value"
//   segment  stretches of tests of a model
//   packed   one column of one segment; id = series * 2^24 + number of the segment
//   rollup   of one series per batch (span 0: `key` is the name of the batch) or bench-day (span 1:
//            `key` is the day), per purpose, of tests that are not void
//   used     how many tests a bench (`bench`: its name) had made up to the end of a block of
//            kUseBlock positions; no row where it made none

#pragma once

#include <optional>

#include "schema/sqlite_handle.h"
#include "schema/trend_rollup.h"
#include "schema/trend_segment.h"

namespace endgate::schema {

inline constexpr std::int64_t kTrendApplication = 0x456e6764;  // "Engd"
// Another number deletes every file: there is no migration of what can be made anew.
inline constexpr std::int64_t kTrendFormat = 4;

void make_trend_tables(Database& database);
[[nodiscard]] bool is_trend_file(Database& database);

struct TakenOver {
  std::string store_id{};
  Position position = 0;
  Bytes head{};
};
[[nodiscard]] std::optional<TakenOver> taken_over(const Database& database);
// Nothing was taken over yet, or truth has this head.
[[nodiscard]] bool belongs_to(const TakenOver& taken, const StoreReader& truth);

void read_names(const Database& database, TrendNames& names);

[[nodiscard]] constexpr std::int64_t packed_id(std::int64_t series, std::int64_t number) {
  return series << 24 | number;
}

// n, mean, square, least, most, bins, from that column on.
[[nodiscard]] TrendRollup rollup_in(const Rows& rows, int column);

// Puts the bytes of one packed column where its name says.
void unpack_into(TrendSegment& segment, const std::string& column,
                 std::span<const std::uint8_t> bytes);

}  // namespace endgate::schema
