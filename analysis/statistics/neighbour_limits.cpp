#include "analysis/statistics/neighbour_limits.h"

#include <algorithm>
#include <cmath>

#include "analysis/statistics/control_chart.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::sum_over;
using Shown = std::span<const BatchMoments>;

double variance_inside(Shown batches) {
  const double degrees = sum_over(batches.size(), [&](std::size_t i) { return batches[i].n - 1; });
  const double squares = sum_over(batches.size(), [&](std::size_t i) {
    return (batches[i].n - 1) * batches[i].sigma * batches[i].sigma;
  });
  return degrees > 0 ? squares / degrees : 0;
}

// Differences of neighbours in units of what `between` lets them be, on average; 1 when it is right.
double mean_difference(Shown batches, double between, double inside) {
  const std::size_t pairs = batches.size() - 1;
  const double all = sum_over(pairs, [&](std::size_t i) {
    const double d = std::abs(batches[i + 1].mean - batches[i].mean);
    const double variance = between + inside * (1 / batches[i].n + 1 / batches[i + 1].n) / 2;
    return d > 0 ? d / std::sqrt(variance) : 0.0;
  });
  return all / static_cast<double>(pairs) / d2(2);
}

double variance_between(Shown batches, double inside) {
  constexpr int kHalvings = 100;  // down to the last bit
  const auto fits = [&](double between) { return mean_difference(batches, between, inside) <= 1; };
  if (inside > 0 && fits(0)) return 0;
  double low = 0, high = 0;
  for (std::size_t i = 0; i + 1 < batches.size(); ++i)
    high = std::max(high, std::pow(batches[i + 1].mean - batches[i].mean, 2));
  if (!(high > 0)) return 0;
  for (int i = 0; i < kHalvings; ++i) {
    const double middle = (low + high) / 2;
    (fits(middle) ? high : low) = middle;
  }
  return high;
}

}  // namespace

std::optional<ControlLimits> neighbour_limits(Shown batches) {
  if (batches.size() < kFewestShownBatches) return std::nullopt;
  const double inside = variance_inside(batches);
  const double between = variance_between(batches, inside);
  if (!(inside + between > 0)) return std::nullopt;
  const auto weight = [&](std::size_t i) { return 1 / (between + inside / batches[i].n); };
  const double all = sum_over(batches.size(), weight);
  const double weighted =
      sum_over(batches.size(), [&](std::size_t i) { return weight(i) * batches[i].mean; });
  return ControlLimits{.centre = weighted / all,
                       .sigma_between = std::sqrt(between),
                       .sigma_inside = std::sqrt(inside),
                       .batches = static_cast<double>(batches.size())};
}

}  // namespace endgate::statistics
