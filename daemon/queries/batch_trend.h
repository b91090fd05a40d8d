// How does one metric of one model go from batch to batch?  Exactly, or at once from rollups.
//
// Exact: every value is read, one column of trend.db and three to choose by; records behind it are
// decoded.  From rollups: n, mean and sigma to rounding, the points to a bin (0.4 %), and the work
// depends on the batches shown, never on the tests behind them.

#pragma once

#include <string>
#include <vector>

#include "analysis/statistics/batch_summary.h"
#include "daemon/queries/trend_columns.h"
#include "schema/store.h"
#include "schema/trend_file.h"

namespace endgate::daemon {

struct BatchQuestion {
  std::string model{}, metric{};
  std::string purpose = "production";
  double lambda = 0.1;  // of the running mean
};

// Tests that are not void and have a value, batches in order of first appearance.  `derived` may
// be nothing: then every record is decoded.
[[nodiscard]] std::vector<statistics::BatchSummary> batch_trend(const schema::StoreReader& store,
                                                                const schema::TrendReader* derived,
                                                                const BatchQuestion& question);
[[nodiscard]] std::vector<statistics::BatchSummary> batch_trend(const schema::StoreReader& store,
                                                                const BatchQuestion& question);

// The same of the tests that match; without a bench, a batch or a day it is as quick as above.
[[nodiscard]] std::vector<statistics::BatchSummary> batch_trend(const schema::StoreReader& store,
                                                                const TrendFilter& filter,
                                                                const std::string& metric);

// The newest `count` batches as far as trend.db has caught up, oldest first; the running mean goes
// over batch means.
[[nodiscard]] std::vector<statistics::BatchSummary> rolled_batch_trend(
    const schema::TrendReader& derived, const BatchQuestion& question, std::size_t count);

}  // namespace endgate::daemon
