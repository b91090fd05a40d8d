// Which tests does a question about the whole population look at, and what stands in their rows?
//
// Read from the packed columns of trend.db as far as that file has caught up, and from truth behind
// it or without it; both ways give the same bits.  Lots are applied when read.

#pragma once

#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/product_or_bench.h"
#include "analysis/statistics/test_columns.h"
#include "daemon/queries/lot_book.h"
#include "schema/store.h"
#include "schema/trend_test.h"

namespace endgate::daemon {

struct TrendFilter {
  std::string model{};
  std::string bench{}, batch{};        // empty: all
  std::string purpose = "production";  // empty: all
  std::int64_t since_utc_ms = 0;
  std::int64_t before_utc_ms = std::numeric_limits<std::int64_t>::max();
  std::string lot{};  // "R-118" of any part, or "reed=R-118"; empty: all

  // Every test of the model.
  [[nodiscard]] bool is_whole() const;
};

// The same model without any other condition.
[[nodiscard]] TrendFilter every_test_of(const TrendFilter& filter);

// Holds tests against a filter one by one.  Lots are looked up in the store, which outlives it, or in
// a book that is there already; a book reads all repairs.
class TestMatch {
 public:
  TestMatch(const schema::StoreReader& store, TrendFilter filter);
  TestMatch(LotBook& book, TrendFilter filter);  // outlives it
  [[nodiscard]] bool operator()(const schema::TrendTest& test);

 private:
  TrendFilter filter_;
  std::optional<LotBook> own_{};  // only when a lot is asked for and no book was given
  LotBook* given_ = nullptr;
};

// Tests that match, in order of position, void ones too, each with what it says of `metric` (which
// may be empty).  Without a model every record is decoded.
void for_each_test(const schema::StoreReader& store, const TrendFilter& filter,
                   const std::string& metric, const schema::VisitTest& visit);

// The records that match, decoded, in order of position; void ones too.
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
