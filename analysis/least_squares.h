// Which parameters explain these observations best, and how well are they known?
//
// MODEL
//
//   y_i = sum_j x_ij b_j + error of standard deviation u_i,   i = 1 ... m,   j = 1 ... p      (1)
//
//   Linear in b; errors independent.  A gain or offset that all rows share does NOT belong into
//   u_i: weights built from measured values then pull the fit below all data (readings 1.0 and
//   1.5 give 0.88).  Fit with the independent part, add the shared part to what is derived.
//   Earlier knowledge of a parameter is one more row: its value, its u, a 1 in its column.
//
// ESTIMATE
//
//   Minimise chi2 = sum_i ((y_i - x_i b) / u_i)^2 by column-pivoted Householder QR of the matrix
//   with rows x_i / u_i, its columns scaled to length near 1 by a power of two (exact).  Forming
//   A'A instead would square its condition number.
//
//     covariance = inverse(A'A)      p x p, absolute: the u_i are believed, chi2 does not scale it
//
// CONTRACT  (tests/analysis/judge_least_squares_test.cpp)
//
//   LS-1  Digits reached on the eleven NIST StRD linear sets: analysis/README.md, "Least squares".
//   LS-2  Scaling every u_i by one factor changes no parameter and scales every standard
//         uncertainty by it.
//   LS-3  Scaling a column by a factor divides its parameter by it and leaves chi2.
//   LS-4  Columns that do not tell their parameters apart are refused (singular), not guessed.
//   LS-5  Every reason not to answer is a Refusal with the index of the row at fault; nothing
//         throws except std::bad_alloc.

#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "analysis/outcome.h"

namespace endgate::analysis {

struct Observation {
  double value = 0;
  double u = 1;  // > 0, standard, the part independent of all other rows; unit of value
};

// Rows of (1), one after the other.
class LinearSystem {
 public:
  explicit LinearSystem(std::size_t parameters) : parameters_(parameters) {}

  // `regressors` has one number per parameter.
  void add(std::span<const double> regressors, const Observation& observation);

  [[nodiscard]] std::size_t parameters() const { return parameters_; }
  [[nodiscard]] std::size_t rows() const { return observations_.size(); }
  [[nodiscard]] double regressor(std::size_t row, std::size_t column) const {
    return regressors_[row * parameters_ + column];
  }
  [[nodiscard]] const Observation& observation(std::size_t row) const { return observations_[row]; }

 private:
  std::size_t parameters_;
  std::vector<double> regressors_;  // row by row
  std::vector<Observation> observations_;
};

struct LinearFit {
  std::vector<double> parameters;
  std::vector<double> covariance;  // p x p, row by row
  double chi_square = 0;
  int degrees_of_freedom = 0;  // m - p

  [[nodiscard]] double covariance_of(std::size_t row, std::size_t column) const {
    return covariance[row * parameters.size() + column];
  }
  [[nodiscard]] double u_of(std::size_t parameter) const;
};

// Refuses, in this order, with too_few_points (m < p), non_finite_input, value_out_of_domain
// (u_i <= 0), singular.
[[nodiscard]] Outcome<LinearFit> solve_least_squares(const LinearSystem& system);

}  // namespace endgate::analysis
