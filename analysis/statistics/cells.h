// Tests that share batch, bench and every recorded factor, as one number each.

#pragma once

#include <vector>

#include "analysis/statistics/test_columns.h"

namespace endgate::statistics {

struct Cell {
  int batch = -1, bench = -1;
  std::vector<int> levels{};  // one per factor of TestColumns::causes
  double n = 0, mean = 0;
};
struct Cells {
  std::vector<Cell> cells{};  // batch by batch
  double sigma_inside = 0;    // of one test about the mean of its cell; 0: no cell has two
};
[[nodiscard]] Cells cells_of(const TestColumns& columns, bool by_cause);

}  // namespace endgate::statistics
