// Which tests does a question about the whole population look at, and what stands in their rows?
//
// Read from truth: every record of the store is decoded for each question, so the time grows with
// the store.  Not measured yet; a derived file is to take its place.

#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/product_or_bench.h"
#include "analysis/statistics/test_columns.h"
#include "schema/store.h"

namespace endgate::daemon {

struct TrendFilter {
  std::string model{};
  std::string bench{}, batch{};        // empty: all
  std::string purpose = "production";  // empty: all
  std::int64_t since_utc_ms = 0;
};

// The records that match, in order of position; void ones too.
[[nodiscard]] std::vector<schema::StoredRecord> records_of(const schema::StoreReader& store,
                                                           const TrendFilter& filter);

struct MetricColumns {
  statistics::TestColumns columns{};
  // Tests of reference units of that model, each with its scatter as u.
  std::vector<statistics::ReferenceCheck> checks{};
};
// Tests that are not void and have the metric.
[[nodiscard]] MetricColumns columns_of(const schema::StoreReader& store, const TrendFilter& filter,
                                       const std::string& metric);

}  // namespace endgate::daemon
