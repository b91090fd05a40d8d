#include "daemon/queries/batch_points.h"

#include <algorithm>
#include <cmath>

namespace endgate::daemon {
namespace {

using statistics::ProductOrBench;

struct Moments {
  double n = 0, sum = 0, square = 0, corrected = 0;
  schema::Position first = 0, last = 0;
};

}  // namespace

std::vector<BatchPoint> batch_points(const statistics::TestColumns& columns,
                                     const ProductOrBench& side) {
  std::vector<Moments> moments(columns.batch.levels.size());
  const double about = columns.rows() > 0 ? columns.value.front() : 0;
  for (std::size_t row = 0; row < columns.rows(); ++row) {
    const auto batch = static_cast<std::size_t>(columns.batch.of_row[row]);
    const auto bench = static_cast<std::size_t>(columns.bench.of_row[row]);
    const double d = columns.value[row] - about;
    const bool known = bench < side.drift.size() && batch < side.drift[bench].size();
    Moments& m = moments[batch];
    m.n += 1, m.sum += d, m.square += d * d;
    if (m.n == 1) m.first = columns.position[row];
    m.last = columns.position[row];
    m.corrected += d - (known ? side.drift[bench][batch].drift : 0);
  }
  std::vector<BatchPoint> points;
  for (std::size_t i = 0; i < moments.size(); ++i) {
    const Moments& m = moments[i];
    const double scatter = m.n > 1 ? (m.square - m.sum * m.sum / m.n) / (m.n - 1) : 0;
    points.push_back({columns.batch.levels[i], m.n, about + m.sum / m.n,
                      std::sqrt(std::max(0.0, scatter)), about + m.corrected / m.n, m.first,
                      m.last});
  }
  return points;
}

}  // namespace endgate::daemon
