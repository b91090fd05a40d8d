#include "daemon/queries/far_tests.h"

#include <algorithm>
#include <vector>

#include "analysis/statistics/chosen_rows.h"
#include "analysis/statistics/scatter.h"

namespace endgate::daemon {

WithoutFar without_far(const statistics::TestColumns& all) {
  const std::vector<std::size_t> far = statistics::far_values(all.value);
  std::vector<std::size_t> rows;
  for (std::size_t row = 0; row < all.rows(); ++row)
    if (!std::ranges::binary_search(far, row)) rows.push_back(row);
  statistics::TestColumns kept = statistics::chosen_rows(all, rows);
  // A bench that only far units were tested on is a question of its own.
  if (far.empty() || kept.bench.levels != all.bench.levels) return {all, 0};
  // Batches keep their numbers, so that answers speak of the same ones.
  kept.batch = {.name = all.batch.name, .levels = all.batch.levels};
  for (const std::size_t row : rows) kept.batch.of_row.push_back(all.batch.of_row[row]);
  return {std::move(kept), far.size()};
}

}  // namespace endgate::daemon
