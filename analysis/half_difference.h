// How far does a result move when one input moves by its standard uncertainty?
//
//   part_i = (f(x_i + u_i) - f(x_i - u_i)) / 2          JCGM 100, 5.1.3 note 2                 (1)
//   U_kl   = sum_i sum_j part_ki r_ij part_lj           JCGM 100, 5.2.2 and F.1.2.3            (2)
//
//   Every u of an evaluation is made of (1), over inputs that are independent of each other
//   (analysis/uncertainty_by_cause.h).  (2) joins inputs that are correlated and gives the
//   covariance of several results.
//
// What is even in an input is lost: a product of two inputs that are both near zero adds nothing,
// as in JCGM 100 H.1.7 (32 instead of 34 nm).
//
// Where one side gives no answer (NaN) the other side alone counts; where neither does, the part
// is 0.

#pragma once

#include <functional>
#include <span>
#include <vector>

namespace endgate::analysis {

[[nodiscard]] double half_difference(double low, double here, double high);

struct InputQuantity {
  double value = 0;
  double u = 0;
};

using Results = std::vector<double>;
using Measurement = std::function<Results(std::span<const double> inputs)>;

struct Propagated {
  Results values;
  std::vector<Results> parts;  // [input][result], signed

  // `correlation` of the inputs, row by row; empty: independent.
  [[nodiscard]] double covariance(std::size_t result, std::size_t other,
                                  std::span<const double> correlation = {}) const;
  [[nodiscard]] double u(std::size_t result, std::span<const double> correlation = {}) const;
};
[[nodiscard]] Propagated propagate(const Measurement& measurement,
                                   std::span<const InputQuantity> inputs);

}  // namespace endgate::analysis
