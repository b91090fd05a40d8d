// Between which limits do batch means lie that are shown together, each by the size of its batch?
//
// MODEL   mean_i = centre + b_i + e_i,  var(e_i) = sigma_inside^2 / n_i
//   sigma_inside    pooled scatter inside batches; 0 when none has two units
//   sigma_between   from neighbours, so that a step of the level widens the limits by one difference
//                   alone: the one for which, v_i = sigma_between^2 + sigma_inside^2
//                   (1/n_i + 1/n_(i-1)) / 2,  mean of |mean_i - mean_(i-1)| / sqrt(v_i) = d2(2);
//                   0 when the scatter inside explains them
//   centre          means, each weighted by 1 / (sigma_between^2 + sigma_inside^2 / n_i)
// With batches of one size these are the limits of an individuals chart, unless they are narrower
// than the scatter inside the batches explains.  widening 1: the limits move with what is shown.
//
// Unit: that of the values.  Checked in tests/statistics/neighbour_limits_test.cpp.

#pragma once

#include <optional>
#include <span>

#include "analysis/statistics/control_limits.h"

namespace endgate::statistics {

// From fewer means their standard deviation is unknown by more than half of it either way (90 %).
inline constexpr std::size_t kFewestShownBatches = 10;

// Nothing for fewer than kFewestShownBatches and without any scatter.
[[nodiscard]] std::optional<ControlLimits> neighbour_limits(std::span<const BatchMoments> batches);

}  // namespace endgate::statistics
