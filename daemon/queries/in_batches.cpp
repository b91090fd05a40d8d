#include "daemon/queries/in_batches.h"

#include <algorithm>

#include "analysis/statistics/chosen_rows.h"
#include "daemon/queries/batch_points.h"

namespace endgate::daemon {

InBatches in_batches(MetricColumns read) {
  const statistics::TestColumns& all = read.columns;
  const auto found = std::ranges::find(all.batch.levels, kNoBatch);
  if (found == all.batch.levels.end()) return {std::move(read), 0};
  const auto none = static_cast<std::size_t>(found - all.batch.levels.begin());
  std::vector<std::size_t> rows;
  for (std::size_t row = 0; row < all.rows(); ++row)
    if (all.batch.of_row[row] != static_cast<int>(none)) rows.push_back(row);
  InBatches out{.without_batch = all.rows() - rows.size()};
  out.read = {statistics::chosen_rows(all, rows), std::move(read.checks)};
  for (statistics::ReferenceCheck& check : out.read.checks)
    if (check.batch >= none && check.batch > 0) --check.batch;
  return out;
}

}  // namespace endgate::daemon
