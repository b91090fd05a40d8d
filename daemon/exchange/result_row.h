// One result, our own or imported, as it goes into a file.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/exchange/result_columns.h"
#include "schema/store.h"

namespace endgate::daemon {

struct ResultRow {
  schema::Position position = 0;
  std::string origin{}, source{};
  std::string serial{}, model{}, bench{}, batch{}, purpose{};
  std::optional<std::int64_t> attempt{};
  std::int64_t start_utc_ms = 0;
  std::optional<double> cycle_s{};
  std::string verdict{}, standing{}, reasons{}, likely_cause{};
  std::vector<schema::MetricValue> metrics{};
};

[[nodiscard]] ResultRow row_of(const schema::StoredRecord& test);
[[nodiscard]] ResultRow row_of(const schema::Kept<schema::ImportedTest>& test);

// Missing, a whole number, a number or a text.
using ResultCell = std::variant<std::monostate, std::int64_t, double, std::string>;
// In the order of kFactColumns, then of `columns`.
[[nodiscard]] std::vector<ResultCell> cells_of(const ResultRow& row,
                                               const std::vector<MetricColumn>& columns);

}  // namespace endgate::daemon
