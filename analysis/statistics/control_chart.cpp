#include "analysis/statistics/control_chart.h"

#include <algorithm>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <cmath>
#include <numbers>

#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::sum_over;

}  // namespace

double c4(double n) {
  return std::sqrt(2 / (n - 1)) * std::exp(std::lgamma(n / 2) - std::lgamma((n - 1) / 2));
}

double d2(int n) {
  const auto covered = [n](double x) {
    const double p = normal_below(x);
    return 1 - std::pow(1 - p, n) - std::pow(p, n);
  };
  return boost::math::quadrature::gauss_kronrod<double, 61>::integrate(covered, -12, 12, 10, 1e-13);
}

std::optional<ChartLimits> individuals_limits(std::span<const double> values) {
  if (values.size() < 2) return std::nullopt;
  const double moving = sum_over(
      values.size() - 1, [&](std::size_t i) { return std::abs(values[i + 1] - values[i]); });
  const double sigma = moving / static_cast<double>(values.size() - 1) / d2(2);
  if (!(sigma > 0)) return std::nullopt;
  const double centre = *analysis::mean_of(values);
  return ChartLimits{centre, sigma, centre - 3 * sigma, centre + 3 * sigma};
}

RunningMean running_mean(std::span<const double> values, double centre, double sigma, double lambda,
                         double width_in_sigma) {
  RunningMean out;
  double z = centre, left = 1;
  for (const double value : values) {
    z = lambda * value + (1 - lambda) * z;
    left *= (1 - lambda) * (1 - lambda);
    out.mean.push_back(z);
    out.half_width.push_back(width_in_sigma * sigma *
                             std::sqrt(lambda / (2 - lambda) * (1 - left)));
  }
  return out;
}

RunningSum running_sum(std::span<const double> values, double centre, double sigma, double k,
                       double h) {
  RunningSum out;
  double up = 0, down = 0;
  for (const double value : values) {
    const double z = (value - centre) / sigma;
    up = std::max(0.0, up + z - k);
    down = std::max(0.0, down - z - k);
    if (!out.first_signal && std::max(up, down) > h) out.first_signal = out.up.size();
    out.up.push_back(up);
    out.down.push_back(down);
  }
  return out;
}

}  // namespace endgate::statistics
