#include "analysis/statistics/capability.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

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

double skewness_about(std::span<const double> values, const ValueMoments& m) {
  if (!(m.sigma > 0)) return 0;
  const double cubes = analysis::sum_over(
      values.size(), [&](std::size_t i) { return std::pow((values[i] - m.mean) / m.sigma, 3); });
  return cubes / static_cast<double>(values.size());
}

// w = exp(s^2) of a log-normal form solves (w + 2) sqrt(w - 1) = skewness; with sqrt(w - 1) =
// 2 sinh(x) the left side is 2 sinh(3 x).
Percentiles skew_form(const ValueMoments& m, double skewness) {
  const double root = 2 * std::sinh(std::asinh(std::abs(skewness) / 2) / 3);
  const double w = 1 + root * root, s = std::sqrt(std::log(w));
  const double median = m.sigma / std::sqrt(w * (w - 1)), side = skewness < 0 ? -1 : 1;
  const auto at = [&](double z) {
    return m.mean + side * median * (std::exp(side * s * z) - std::sqrt(w));
  };
  const double z = normal_quantile(0.99865);
  return {at(-z), at(0), at(z), Percentiles::Form::skew};
}

Percentiles by_order(std::vector<double> values) {
  std::ranges::sort(values);
  return {sample_quantile(values, 0.00135), sample_quantile(values, 0.5),
          sample_quantile(values, 0.99865), Percentiles::Form::order};
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
  if (values.size() >= kByOrderFrom) return by_order({values.begin(), values.end()});
  const ValueMoments m = moments_of(values);
  const double skew = skewness_about(values, m);
  if (std::abs(skew) > kSkew) return skew_form(m, skew);
  const double reach = normal_quantile(0.99865) * m.sigma;
  return {m.mean - reach, m.mean, m.mean + reach, Percentiles::Form::normal};
}

double sample_quantile(std::span<const double> sorted, double p) {
  const double place = p * static_cast<double>(sorted.size() - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (place - static_cast<double>(below)) * (sorted[above] - sorted[below]);
}

double skewness(std::span<const double> values) {
  return skewness_about(values, moments_of(values));
}

}  // namespace endgate::statistics
