#include "analysis/statistics/proportion.h"

#include <algorithm>
#include <boost/math/distributions/hypergeometric.hpp>
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

Interval clopper_pearson(std::int64_t count, std::int64_t of, double confidence) {
  if (of == 0) return {0, 1};
  const double k = static_cast<double>(count), n = static_cast<double>(of);
  const double tail = (1 - confidence) / 2;
  return {count == 0 ? 0 : beta_quantile(tail, k, n - k + 1),
          count == of ? 1 : beta_quantile(1 - tail, k + 1, n - k)};
}

double fisher_exact(std::int64_t count1, std::int64_t of1, std::int64_t count2, std::int64_t of2) {
  const std::int64_t hits = count1 + count2, all = of1 + of2;
  const boost::math::hypergeometric chance(static_cast<unsigned>(hits), static_cast<unsigned>(of1),
                                           static_cast<unsigned>(all));
  const double seen = boost::math::pdf(chance, static_cast<unsigned>(count1));
  double p = 0;
  for (std::int64_t k = std::max<std::int64_t>(0, hits - of2); k <= std::min(hits, of1); ++k) {
    const double here = boost::math::pdf(chance, static_cast<unsigned>(k));
    if (here <= seen * (1 + 1e-9)) p += here;
  }
  return std::min(1.0, p);
}

}  // namespace endgate::statistics
