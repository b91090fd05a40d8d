#include "analysis/statistics/cells.h"

#include <cmath>
#include <map>

#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

struct CellSums {
  double n = 0;
  analysis::Sum sum{}, square{};
};

}  // namespace

Cells cells_of(const TestColumns& columns, bool by_cause) {
  // About the first value, so that squares do not cancel.
  const double about = columns.rows() > 0 ? columns.value.front() : 0;
  std::map<std::vector<int>, CellSums> groups;
  for (std::size_t row = 0; row < columns.rows(); ++row) {
    std::vector<int> key{columns.batch.of_row[row], columns.bench.of_row[row]};
    if (by_cause)
      for (const Factor& factor : columns.causes) key.push_back(factor.of_row[row]);
    CellSums& moments = groups[key];
    const double d = columns.value[row] - about;
    moments.n += 1;
    moments.sum.add(d);
    moments.square.add(d * d);
  }
  Cells out;
  double squares = 0, freedom = 0;
  for (const auto& [key, m] : groups) {
    const double mean = m.sum.value() / m.n;
    squares += m.square.value() - m.n * mean * mean;
    freedom += m.n - 1;
    out.cells.push_back({key[0], key[1], {key.begin() + 2, key.end()}, m.n, about + mean});
  }
  if (freedom > 0) out.sigma_inside = std::sqrt(std::max(0.0, squares / freedom));
  return out;
}

}  // namespace endgate::statistics
