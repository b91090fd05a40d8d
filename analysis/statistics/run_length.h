// How many points pass on average until a chart signals?
//
// Computed, not looked up: mean and sigma known, points independent and normal, shifted by `shift`
// sigma from the first point on; zero state, limits at their final width.
//   running mean  ARL(u) = 1 + 1/lambda int_-h^h ARL(z) phi((z - (1-lambda) u)/lambda - shift) dz,
//                 h = L sqrt(lambda/(2-lambda)), 120 Gauss-Legendre nodes
//   running sum   one side by the same method with an atom at 0; 1/ARL = 1/ARL_up + 1/ARL_down
// Agrees with published run lengths to 1e-4 (tests/statistics/run_length_test.cpp).

#pragma once

namespace endgate::statistics {

[[nodiscard]] double running_mean_run_length(double lambda, double width_in_sigma, double shift);
[[nodiscard]] double running_sum_run_length(double k, double h, double shift);

}  // namespace endgate::statistics
