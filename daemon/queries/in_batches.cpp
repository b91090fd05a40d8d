#include "daemon/queries/in_batches.h"

#include <algorithm>

#include "daemon/queries/batch_points.h"

namespace endgate::daemon {
namespace {

using statistics::Factor;
using statistics::TestColumns;

// Only the levels that stay in use, in their order.
Factor rows_of_factor(const Factor& factor, const std::vector<std::size_t>& rows) {
  Factor kept{.name = factor.name};
  for (const std::size_t row : rows) {
    const int level = factor.of_row[row];
    kept.add(level < 0 ? "" : factor.levels[static_cast<std::size_t>(level)]);
  }
  return kept;
}

TestColumns rows_of_columns(const TestColumns& all, const std::vector<std::size_t>& rows) {
  TestColumns kept;
  for (const std::size_t row : rows) {
    kept.position.push_back(all.position[row]);
    kept.time_utc_ms.push_back(all.time_utc_ms[row]);
    kept.value.push_back(all.value[row]);
    kept.u.push_back(all.u[row]);
  }
  kept.batch = rows_of_factor(all.batch, rows);
  kept.bench = rows_of_factor(all.bench, rows);
  for (const Factor& cause : all.causes) kept.causes.push_back(rows_of_factor(cause, rows));
  return kept;
}

}  // namespace

InBatches in_batches(MetricColumns read) {
  const TestColumns& all = read.columns;
  const auto found = std::ranges::find(all.batch.levels, kNoBatch);
  if (found == all.batch.levels.end()) return {std::move(read), 0};
  const auto none = static_cast<std::size_t>(found - all.batch.levels.begin());
  std::vector<std::size_t> rows;
  for (std::size_t row = 0; row < all.rows(); ++row)
    if (all.batch.of_row[row] != static_cast<int>(none)) rows.push_back(row);
  InBatches out{.without_batch = all.rows() - rows.size()};
  out.read = {rows_of_columns(all, rows), std::move(read.checks)};
  for (statistics::ReferenceCheck& check : out.read.checks)
    if (check.batch >= none && check.batch > 0) --check.batch;
  return out;
}

}  // namespace endgate::daemon
