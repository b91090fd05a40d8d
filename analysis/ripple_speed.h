// How fast does the crank turn, from the current of its motor alone?
//
// MODEL
//
//   i(t) = c + sum over orders l of (a_l cos l p + b_l sin l p) + noise,
//   p(t) = 2 pi (N t + D t^2 / 2),   t from the middle of the record                          (1)
//
//   N   mean speed of the record   [rev/s]      D   its drift, even over the record    [rev/s2]
//
// ESTIMATE  ripple_lock.h finds N; Gauss-Newton on (1) over all samples makes it exact: the
//   maximum-likelihood estimate in white noise, so its variance is near the Cramer-Rao bound
//   12 fs^2 / ((2 pi)^2 eta n (n^2 - 1)) / l^2 summed (inversely) over the lines.  u comes from
//   the residual's spectrum beside each line, so speed that wanders widens it.
//
// RANGE  2 M N below half the sample rate is best; M + 2 orders must fit.  At least 12 revolutions.
//   u holds the error of the record alone; that of the device's sample clock is the caller's.
//
// CONTRACT  (tests/analysis/ripple_speed_test.cpp)
//   RS-1  A speed that is not `trusted` is no measurement: its lock is less sure than kSureLock.
//   RS-2  Every reason not to answer is a Refusal.

#pragma once

#include <optional>
#include <span>
#include <vector>

#include "analysis/outcome.h"
#include "analysis/ripple_lock.h"

namespace endgate::analysis {

inline constexpr double kSureLock = 0.99;

struct RippleLine {
  int order = 0;  // times the crank
  double amplitude_a = 0;
  double u_a = 0;
};

struct RippleSpeed {
  double speed_rev_s = 0;  // mean over the record
  double u_rev_s = 0;      // standard
  double drift_rev_s2 = 0;
  double lock_probability = 0;
  int commutations_per_rev = 0;
  std::vector<RippleLine> lines;  // orders 1 ... M + 2, and 2 M where it fits

  [[nodiscard]] bool trusted() const { return lock_probability >= kSureLock; }
};

[[nodiscard]] Outcome<RippleSpeed> ripple_speed(std::span<const double> current_a,
                                                double sample_rate_hz,
                                                const RippleExpectation& expected);

struct RippleRatio {
  double value = 0;
  double u = 0;  // standard
};

// Rms amplitude of the orders that neither gas nor even bars make (5 ... M - 3), noise taken off,
// over the amplitude of the commutation.  Absent: M below 9, or no commutation to compare with.
[[nodiscard]] std::optional<RippleRatio> commutator_irregularity(const RippleSpeed& ripple);

// Once-per-revolution current over twice-per-revolution current of a twin whose pistons work half a
// turn apart: near 0 for equal cylinders, large when one is worn or dead.  Absent: no order 2.
[[nodiscard]] std::optional<RippleRatio> cylinder_imbalance(const RippleSpeed& ripple);

}  // namespace endgate::analysis
