#include "analysis/statistics/capability.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

constexpr std::size_t kEmpiricalFrom = 2000;

struct ValueMoments {
  double mean = 0, sigma = 0;
};

ValueMoments moments_of(std::span<const double> values) {
  const double mean = analysis::mean_of(values).value_or(0);
  const double squares = analysis::sum_over(
      values.size(), [&](std::size_t i) { return (values[i] - mean) * (values[i] - mean); });
  const double freedom = std::max(1.0, static_cast<double>(values.size()) - 1);
  return {mean, std::sqrt(squares / freedom)};
}

}  // namespace

Index spread_index(const Bounds& bounds, double sigma, double n, double confidence) {
  const double value = (*bounds.upper - *bounds.lower) / (6 * sigma), tail = (1 - confidence) / 2;
  return {value,
          {value * std::sqrt(chi_square_quantile(tail, n - 1) / (n - 1)),
           value * std::sqrt(chi_square_quantile(1 - tail, n - 1) / (n - 1))}};
}

Index centred_index(const Bounds& bounds, double mean, double sigma, double n, double confidence) {
  double value = std::numeric_limits<double>::infinity();
  if (bounds.upper) value = std::min(value, (*bounds.upper - mean) / (3 * sigma));
  if (bounds.lower) value = std::min(value, (mean - *bounds.lower) / (3 * sigma));
  return {value, bissell(value, n, confidence)};
}

Interval bissell(double index, double n, double confidence) {
  const double half = normal_quantile(0.5 + confidence / 2) *
                      std::sqrt(1 / (9 * n) + index * index / (2 * (n - 1)));
  return {index - half, index + half};
}

double percentile_index(const Bounds& bounds, const Percentiles& x) {
  double value = std::numeric_limits<double>::infinity();
  if (bounds.upper) value = std::min(value, (*bounds.upper - x.middle) / (x.high - x.middle));
  if (bounds.lower) value = std::min(value, (x.middle - *bounds.lower) / (x.middle - x.low));
  return value;
}

Percentiles percentiles_of(std::span<const double> values) {
  std::vector<double> sorted(values.begin(), values.end());
  std::ranges::sort(sorted);
  if (sorted.size() >= kEmpiricalFrom)
    return {sample_quantile(sorted, 0.00135), sample_quantile(sorted, 0.5),
            sample_quantile(sorted, 0.99865)};
  const bool logarithmic = !sorted.empty() && sorted.front() > 0;
  if (logarithmic)
    for (double& value : sorted) value = std::log(value);
  const ValueMoments m = moments_of(sorted);
  const auto back = [&](double z) {
    return logarithmic ? std::exp(m.mean + z * m.sigma) : m.mean + z * m.sigma;
  };
  const double z = normal_quantile(0.99865);
  return {back(-z), back(0), back(z)};
}

double sample_quantile(std::span<const double> sorted, double p) {
  const double place = p * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (place - static_cast<double>(below)) * (sorted[above] - sorted[below]);
}

double skewness(std::span<const double> values) {
  const ValueMoments m = moments_of(values);
  if (!(m.sigma > 0)) return 0;
  const double cubes = analysis::sum_over(
      values.size(), [&](std::size_t i) { return std::pow((values[i] - m.mean) / m.sigma, 3); });
  return cubes / static_cast<double>(values.size());
}

}  // namespace endgate::statistics
