// Which speed, drift and line amplitudes fit a waveform best?  The fit of ripple_speed.h.
//
// Normal equations, their rows summed in index order: the columns are near orthogonal (condition
// below 100), so nothing is lost, and every entry is a plain sum of its own.

#pragma once

#include <span>
#include <vector>

namespace endgate::analysis {

struct RippleFit {
  double speed_rev_s = 0;
  double drift_rev_s2 = 0;
  double speed_variance = 0;         // (rev/s)^2 for noise of variance 1 A^2
  std::vector<double> cosine, sine;  // by line, A
  std::vector<bool> shows;           // by line: it stands out and had a say in the speed
  std::vector<double> residual;      // A
};

// Every order is fitted, in rising order; those that `has_say` marks settle the speed.
// Starts at `speed_rev_s`, which is right within a quarter of a bin of the strongest line.
[[nodiscard]] RippleFit fit_ripple(std::span<const double> current_a, double sample_rate_hz,
                                   std::span<const int> orders, std::vector<bool> has_say,
                                   double speed_rev_s);

}  // namespace endgate::analysis
