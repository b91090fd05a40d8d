#include "daemon/queries/far_tests.h"

#include <algorithm>
#include <vector>

#include "analysis/statistics/chosen_rows.h"
#include "analysis/statistics/scatter.h"

namespace endgate::daemon {

namespace {

// Levels keep their numbers, so that answers speak of the same batches and benches.
statistics::Factor in_same_levels(const statistics::Factor& all,
                                  const std::vector<std::size_t>& rows) {
  statistics::Factor kept{.name = all.name, .levels = all.levels};
  for (const std::size_t row : rows) kept.of_row.push_back(all.of_row[row]);
  return kept;
}

}  // namespace

WithoutFar without_far(const statistics::TestColumns& all) {
  const std::vector<std::size_t> far = statistics::far_values(all.value);
  std::vector<std::size_t> rows;
  for (std::size_t row = 0; row < all.rows(); ++row)
    if (!std::ranges::binary_search(far, row)) rows.push_back(row);
  statistics::TestColumns kept = statistics::chosen_rows(all, rows);
  // A bench that only far units were tested on is a question of its own.
  if (far.empty() || kept.bench.levels.size() != all.bench.levels.size()) return {all, 0};
  kept.batch = in_same_levels(all.batch, rows);
  kept.bench = in_same_levels(all.bench, rows);
  return {std::move(kept), far.size()};
}

}  // namespace endgate::daemon
