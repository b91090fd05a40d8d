#include "analysis/statistics/proportion.h"

#include <algorithm>
#include <cmath>

#include "analysis/statistics/distribution.h"

namespace endgate::statistics {

Interval wilson(std::int64_t count, std::int64_t of, double confidence) {
  if (of == 0) return {0, 1};
  const double n = static_cast<double>(of), p = static_cast<double>(count) / n;
  const double z = normal_quantile(0.5 + confidence / 2);
  const double middle = p + z * z / (2 * n), below = 1 + z * z / n;
  const double half = z * std::sqrt(p * (1 - p) / n + z * z / (4 * n * n));
  return {std::max(0.0, (middle - half) / below), std::min(1.0, (middle + half) / below)};
}

}  // namespace endgate::statistics
