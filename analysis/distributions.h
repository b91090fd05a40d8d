// How likely is a deviation by chance, and how wide is an interval?  Normal, Student and
// chi-square.
//
// CONTRACT  (tests/analysis/judge_distributions_test.cpp)
//
//   DI-1  A probability outside (0, 1), degrees of freedom that are not > 0, a NaN: a refusal
//         (value_out_of_domain), never an exception.
//   DI-2  Intervals are taken from the tail, so the largest confidence below 1 still answers.
//
// Accuracy: better than 1e-12 relative against published values.  Boost.Math does the work.

#pragma once

#include "analysis/outcome.h"

namespace endgate::analysis {

// Probability of the normal within two standard deviations.
inline constexpr double kTwoSigma = 0.9545;

// P(X <= z) of the standard normal.
[[nodiscard]] double normal_cdf(double z);

// z with P(X <= z) = probability.
[[nodiscard]] Outcome<double> normal_quantile(double probability);

// k with P(|T| <= k) = confidence, T Student's t.
[[nodiscard]] Outcome<double> student_coverage_factor(double confidence, double degrees_of_freedom);

// x with P(X <= x) = probability, X chi-square.
[[nodiscard]] Outcome<double> chi_square_quantile(double probability, double degrees_of_freedom);

// P(X > chi_square): small means that chance hardly explains it.  chi_square >= 0.
[[nodiscard]] Outcome<double> chi_square_upper_tail(double chi_square, double degrees_of_freedom);

}  // namespace endgate::analysis
