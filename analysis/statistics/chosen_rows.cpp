#include "analysis/statistics/chosen_rows.h"

#include <algorithm>

namespace endgate::statistics {
namespace {

Factor chosen_of_factor(const Factor& factor, const std::vector<std::size_t>& rows) {
  Factor kept{.name = factor.name};
  std::vector<int> new_level(factor.levels.size(), -1);
  for (const std::size_t row : rows) {
    const int level = factor.of_row[row];
    if (level < 0) {
      kept.of_row.push_back(-1);
      continue;
    }
    int& known = new_level[static_cast<std::size_t>(level)];
    if (known < 0) {
      known = static_cast<int>(kept.levels.size());
      kept.levels.push_back(factor.levels[static_cast<std::size_t>(level)]);
    }
    kept.of_row.push_back(known);
  }
  return kept;
}

}  // namespace

TestColumns chosen_rows(const TestColumns& all, const std::vector<std::size_t>& rows) {
  TestColumns kept;
  for (const std::size_t row : rows) {
    kept.position.push_back(all.position[row]);
    kept.time_utc_ms.push_back(all.time_utc_ms[row]);
    kept.value.push_back(all.value[row]);
    kept.u.push_back(all.u[row]);
  }
  kept.batch = chosen_of_factor(all.batch, rows);
  kept.bench = chosen_of_factor(all.bench, rows);
  for (const Factor& cause : all.causes) kept.causes.push_back(chosen_of_factor(cause, rows));
  return kept;
}

TestColumns rows_since_batch(const TestColumns& all, std::size_t first) {
  std::vector<std::size_t> rows;
  for (std::size_t row = 0; row < all.rows(); ++row)
    if (all.batch.of_row[row] >= static_cast<int>(first)) rows.push_back(row);
  TestColumns kept = chosen_rows(all, rows);
  // A batch that has no row keeps its place: batches are counted by it.
  const Factor& batch = all.batch;
  const std::size_t from = std::min(first, batch.levels.size());
  kept.batch.levels.assign(batch.levels.begin() + static_cast<std::ptrdiff_t>(from),
                           batch.levels.end());
  kept.batch.of_row.clear();
  for (const std::size_t row : rows)
    kept.batch.of_row.push_back(batch.of_row[row] - static_cast<int>(first));
  return kept;
}

}  // namespace endgate::statistics
