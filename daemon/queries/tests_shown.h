// Which tests are there to look at one by one, and how do all that match scatter?

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct TestRow {
  schema::Position position = 0;
  std::string serial{}, batch{}, bench{}, verdict{}, purpose{};
  std::int64_t attempt = 0;
  std::int64_t started_utc_ms = 0;
  std::optional<double> value{}, u{};  // SI
};

struct TestsShown {
  std::vector<TestRow> rows{};  // the newest, oldest first; SI
  // Over all that match, not void and with a value.
  std::size_t matching = 0;
  std::optional<double> mean{}, sigma{};  // SI; sigma of a single test, needs two
};
// At most `count` rows.
[[nodiscard]] TestsShown tests_shown(const schema::StoreReader& store, const TrendFilter& filter,
                                     const std::string& metric, std::size_t count);

// The limit on a metric as it was held against the newest test of the model that has one.
struct HeldLast {
  schema::TrendBounds bounds{};
  double pass_band = 0;
};
[[nodiscard]] std::optional<HeldLast> limit_held_last(const schema::StoreReader& store,
                                                      const std::string& model,
                                                      const std::string& metric);

}  // namespace endgate::daemon
