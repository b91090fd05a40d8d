// Is a point of a series beyond what its own scatter explains?
//
// MODEL   points x_1, x_2, ... independent, of one mean and one standard deviation sigma.
//   individuals   sigma = mean |x_i - x_(i-1)| / d2(2);  limits mean -+ 3 sigma
//   batches       the batch means are charted as individuals, so that what batches differ by
//                 anyway is inside the limits; limits from within-batch scatter alone call one
//                 ordinary batch in six an alarm (dyestuff data).  The scatter inside a batch of
//                 n has limits s_pooled c4(n) (1 -+ 3 sqrt(1 - c4^2) / c4)
//   running mean  z_i = lambda x_i + (1 - lambda) z_(i-1) from the mean; limits
//                 mean -+ L sigma sqrt(lambda/(2-lambda) (1 - (1-lambda)^(2i)))
//   running sum   S+ = max(0, S+ + (x - mean)/sigma - k), S- mirrored; signal above h
//
// Constants are exact (d2(2) = 2/sqrt(pi), c4 by the gamma function), not the rounded ones of
// tables.  Successive serials that resemble each other break the promise of every chart: at a
// correlation of 0.5 an individuals chart alarms every 34 points instead of every 370.
// Source of the definitions: ISO 7870; checks in tests/statistics/control_chart_test.cpp.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace endgate::statistics {

[[nodiscard]] double c4(double n);  // E(s) = c4 sigma, n >= 2
[[nodiscard]] double d2(int n);     // E(range) = d2 sigma, n >= 2

struct ChartLimits {
  double centre = 0, sigma = 0;
  double lower = 0, upper = 0;  // centre -+ 3 sigma
};
// Nothing for fewer than two points or no scatter at all.
[[nodiscard]] std::optional<ChartLimits> individuals_limits(std::span<const double> values);

struct RunningMean {
  std::vector<double> mean, half_width;  // limits: centre -+ half_width
};
[[nodiscard]] RunningMean running_mean(std::span<const double> values, double centre, double sigma,
                                       double lambda, double width_in_sigma);

struct RunningSum {
  std::vector<double> up, down;  // in units of sigma
  std::optional<std::size_t> first_signal;
};
[[nodiscard]] RunningSum running_sum(std::span<const double> values, double centre, double sigma,
                                     double k, double h);

}  // namespace endgate::statistics
