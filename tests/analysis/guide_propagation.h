// The propagation of the guide's examples, made of the product's half differences:
//
//   U_kl = sum_i sum_j part_ki r_ij part_lj           JCGM 100, 5.2.2 and F.1.2.3
//
// joins inputs that are correlated and gives the covariance of several results, which no metric of
// the product needs.

#pragma once

#include <functional>
#include <span>
#include <vector>

namespace endgate::analysis {

struct InputQuantity {
  double value = 0;
  double u = 0;
};

using Results = std::vector<double>;
using MeasurementModel = std::function<Results(std::span<const double> inputs)>;

struct Propagated {
  Results values;
  std::vector<Results> parts;  // [input][result], signed

  // `correlation` of the inputs, row by row; empty: independent.
  [[nodiscard]] double covariance(std::size_t result, std::size_t other,
                                  std::span<const double> correlation = {}) const;
  [[nodiscard]] double u(std::size_t result, std::span<const double> correlation = {}) const;
};
[[nodiscard]] Propagated propagate(const MeasurementModel& measurement,
                                   std::span<const InputQuantity> inputs);

}  // namespace endgate::analysis
