// What smooth curve of x do these points follow, and how well is it known?
//
// MODEL
//
//   y = c_0 + c_1 t + ... + c_d t^d,     t = (x - centre) / half_width,   -1 <= t <= 1      (1)
//
//   x is mapped to [-1, 1] first: raw powers of x lose up to six digits on published data.  The
//   coefficients belong to t; a value is taken from (1), never from raw powers.
//
// CONTRACT  (tests/analysis/judge_least_squares_test.cpp, judge_nist_test.cpp)
//
//   LP-1  Points on a polynomial of that degree are given back to 1e-10 of their size.
//   LP-2  Outside the fitted range of x a value carries `extrapolated`; both ends are inside.
//   LP-3  Refusals as analysis/least_squares.h; all x alike is span_too_narrow.
//
// Units: those of x and y.  u holds the independent part only.

#pragma once

#include <span>
#include <vector>

#include "analysis/least_squares.h"

namespace endgate::analysis {

struct PolynomialPoint {
  double x = 0;
  Observation y;
};

struct Polynomial {
  double x_min = 0;
  double x_max = 0;
  LinearFit fit;  // c_0 ... c_d with covariance

  [[nodiscard]] double centre() const { return 0.5 * (x_min + x_max); }
  [[nodiscard]] double half_width() const { return 0.5 * (x_max - x_min); }
};

[[nodiscard]] Outcome<Polynomial> fit_polynomial(std::span<const PolynomialPoint> points,
                                                 std::size_t degree);

struct PolynomialValue {
  double value = 0;
  double u = 0;  // standard, from the covariance
  bool extrapolated = false;
};

// x finite.
[[nodiscard]] PolynomialValue value_at(const Polynomial& polynomial, double x);

}  // namespace endgate::analysis
