#include "analysis/statistics/scatter.h"

#include <boost/math/statistics/univariate_statistics.hpp>
#include <cmath>

#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

constexpr double kNormal = 1.4826;  // standard deviations to a median absolute deviation

// The library sorts what it is given.
double median_of(std::vector<double> values) { return boost::math::statistics::median(values); }

// Not the library's own: that of Boost 1.81 is right for a middle of 0 only.
double deviation_of(std::span<const double> values, double middle) {
  std::vector<double> away;
  for (const double value : values) away.push_back(std::abs(value - middle));
  return median_of(std::move(away));
}

}  // namespace

Scatter scatter_of(std::span<const double> values) {
  Scatter scatter{.n = values.size(), .mean = analysis::mean_of(values)};
  if (values.size() < 2) return scatter;
  const double square = analysis::sum_over(values.size(), [&](std::size_t i) {
    return (values[i] - *scatter.mean) * (values[i] - *scatter.mean);
  });
  scatter.sigma = std::sqrt(square / static_cast<double>(values.size() - 1));
  return scatter;
}

std::vector<std::size_t> far_values(std::span<const double> values, const FarRule& rule) {
  if (values.empty()) return {};
  const double middle = median_of({values.begin(), values.end()});
  const double reach = rule.reach * kNormal * deviation_of(values, middle);
  std::vector<std::size_t> far;
  for (std::size_t i = 0; i < values.size(); ++i)
    if (reach > 0 && std::abs(values[i] - middle) > reach) far.push_back(i);
  const double most = std::ceil(rule.most * static_cast<double>(values.size()));
  if (static_cast<double>(far.size()) > most) far.clear();
  return far;
}

}  // namespace endgate::statistics
