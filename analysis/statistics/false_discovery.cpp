#include "analysis/statistics/false_discovery.h"

#include <algorithm>
#include <cstddef>
#include <numeric>

namespace endgate::statistics {

std::vector<double> adjusted_for_many(std::span<const double> p) {
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::sort(order, [&](std::size_t a, std::size_t b) { return p[a] < p[b]; });
  std::vector<double> adjusted(p.size());
  const double m = static_cast<double>(p.size());
  double least = 1;
  for (std::size_t rank = p.size(); rank-- > 0;) {
    least = std::min(least, p[order[rank]] * m / static_cast<double>(rank + 1));
    adjusted[order[rank]] = least;
  }
  return adjusted;
}

}  // namespace endgate::statistics
