#include "tests/analysis/guide_propagation.h"

#include <algorithm>
#include <cmath>

#include "analysis/half_difference.h"

namespace endgate::analysis {
namespace {

std::vector<double> values_of(std::span<const InputQuantity> inputs) {
  std::vector<double> values;
  for (const InputQuantity& input : inputs) values.push_back(input.value);
  return values;
}

Results part_of(const MeasurementModel& measurement, const Results& here,
                std::vector<double> values, std::size_t input, double u) {
  const double middle = values[input];
  values[input] = middle - u;
  const Results low = measurement(values);
  values[input] = middle + u;
  const Results high = measurement(values);
  Results part(here.size());
  for (std::size_t k = 0; k < part.size(); ++k) part[k] = half_difference(low[k], here[k], high[k]);
  return part;
}

}  // namespace

double Propagated::covariance(std::size_t result, std::size_t other,
                              std::span<const double> correlation) const {
  double total = 0;
  for (std::size_t i = 0; i < parts.size(); ++i)
    for (std::size_t j = 0; j < parts.size(); ++j) {
      const double r =
          correlation.empty() ? (i == j ? 1.0 : 0.0) : correlation[i * parts.size() + j];
      total += r * parts[i][result] * parts[j][other];
    }
  return total;
}

double Propagated::u(std::size_t result, std::span<const double> correlation) const {
  return std::sqrt(std::max(0.0, covariance(result, result, correlation)));
}

Propagated propagate(const MeasurementModel& measurement, std::span<const InputQuantity> inputs) {
  const std::vector<double> values = values_of(inputs);
  Propagated propagated{measurement(values), {}};
  for (std::size_t i = 0; i < inputs.size(); ++i)
    propagated.parts.push_back(part_of(measurement, propagated.values, values, i, inputs[i].u));
  return propagated;
}

}  // namespace endgate::analysis
