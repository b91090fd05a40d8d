// Between which limits do batch means and single units of a process lie that nothing disturbs?
//
// MODEL    x_ij = centre + b_i + e_ij, unit j of batch i; b_i what batches differ by anyway.
//   sigma_inside^2    pooled scatter inside batches (MS_W of a one-way analysis of variance)
//   sigma_between^2   (MS_B - MS_W) / n0, n0 = (N - sum n_i^2 / N) / (m - 1); 0 when negative:
//                     then what batches differ by cannot be told from none
//   centre            batch means, each weighted by 1 / (sigma_between^2 + sigma_inside^2 / n_i)
//   mean of n units   sigma_n = widening sqrt(sigma_between^2 + sigma_inside^2 / n), so that a
//                     batch of two units, or one not finished, is not judged as one of fifty
//   one unit          widening sqrt(sigma_between^2 + sigma_inside^2)
//   widening          t(0.99865, m - 1) sqrt(1 + 1/m) / 3: limits of 3 sigma from m batches that
//                     only look like the process leave out the next batch as rarely as 3 sigma
//                     of a known one would, 1 in 370, on average over what the m happened to be
//   likeness          correlation of neighbouring batch means, 0 unless beyond 2 / sqrt(m): what
//                     the stated run length is computed with
// Limits from the scatter inside batches alone would call ordinary batches alarms (dyestuff data).
//
// Unit: that of the values.  Checked on the dyestuff data (O. L. Davies 1947),
// tests/statistics/control_limits_test.cpp.

#pragma once

#include <cstddef>
#include <limits>
#include <optional>
#include <span>

#include "analysis/statistics/control_rules.h"

namespace endgate::statistics {

// Fewer leave the scatter between batches unknown by more than a factor of 1.4 either way (90 %).
// 20 to 25 is common practice (from memory of textbooks).
inline constexpr std::size_t kFewestControlBatches = 20;

struct BatchMoments {
  double n = 0, mean = 0, sigma = 0;  // sigma 0 with a single unit
};

struct ControlLimits {
  double centre = 0, sigma_between = 0, sigma_inside = 0;
  double widening = 1, likeness = 0;
  double batches = 0;  // the limits were made from; 0: as good as known

  [[nodiscard]] double sigma_of_mean(double n) const;
  [[nodiscard]] double sigma_of_unit() const { return sigma_of_mean(1); }
};

// Nothing for fewer than two batches, for none with two units, and without any scatter.
[[nodiscard]] std::optional<ControlLimits> control_limits_of(std::span<const BatchMoments> batches);

[[nodiscard]] double widening_of(double batches);

// Of means in their standard deviations: their correlation with the one before; 0 unless it is
// beyond chance.
[[nodiscard]] double likeness_of_neighbours(std::span<const double> z);

// Batches until the rules signal falsely, on average; and between which figures that lies, with
// 90 %, because limits from few batches are themselves uncertain: their standard deviation and
// their centre, each told by what the m batches leave open.  Equal when they are known.
struct PromisedRunLength {
  static constexpr double kUntold = std::numeric_limits<double>::quiet_NaN();
  double expected = kUntold, low = kUntold, high = kUntold;
  [[nodiscard]] bool told() const { return expected > 0; }
};
[[nodiscard]] PromisedRunLength promised_run_length(const ControlLimits& limits,
                                                    const ControlRules& rules);

}  // namespace endgate::statistics
