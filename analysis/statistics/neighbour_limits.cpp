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

double variance_between(Shown batches, double inside) {
  const std::size_t pairs = batches.size() - 1;
  const double moving = sum_over(
      pairs, [&](std::size_t i) { return std::abs(batches[i + 1].mean - batches[i].mean); });
  const double s = moving / static_cast<double>(pairs) / d2(2);
  const double explained = sum_over(
      pairs, [&](std::size_t i) { return inside * (1 / batches[i].n + 1 / batches[i + 1].n) / 2; });
  return std::max(0.0, s * s - explained / static_cast<double>(pairs));
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
