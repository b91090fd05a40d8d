// What does a motor's own voltage say while it runs down with the relay open?
//
// MODEL                          V(t) at the terminals, y(t) as a channel of lag tau reads it
//
//   V(t) = V_h                                  while the relay is shut
//   V(t) = k_e omega(t) = E - S (t - t_o) - ...      from t_o on: no current, no drop
//
//   y(t) = A + B t + C t^2 + D exp(-t/tau)      after t_o, t from the first sample that fell     (1)
//
//   A smooth run-down of some tenths of a second is a parabola; a first-order lag turns it into the
//   parabola of tau earlier, C tau^2 higher, and a rest of the step that dies away.  (1) is linear but
//   for tau, which is fitted too, about the stated lag within kLag_u_rel.  The rest says when the relay
//   opened:
//
//     D exp(-t_o/tau) = V_h - (A + B t_o + C t_o^2)                                              (2)
//
//   So the moment need not be told by anybody, and V_h is the mean of the hold before.  Then
//
//     E = parabola at t_o + tau, less C tau^2 ,  S = -its slope there                            (3)
//
//   NOISE: every sample moved by itself gives its coefficient; it is correlated as the bench says
//   (analysis/window_moments.h, (1)), never below what the residuals scatter.
//
// RANGE: samples down to kLeastEmfShare of V_h.  Refuses with missing_step (the motor was never switched
//   off while it ran), too_few_points (it stood still within kLeastFalling samples),
//   value_out_of_domain (the voltage does not fall as a run-down, or does not fit (1)), singular.
//
// Not in it: the winding's inductance, over within milliseconds; an arc at the relay; the swing of
// the speed within a turn: the relay opens at any angle of the crank, and E is set against the mean
// speed of the hold.  Of one cylinder under load that is an error of each test that u does not name.
//
// Source: permanent-magnet machine on open circuit, textbook; R, brushes and k_e cannot be told apart
// at one supply voltage without it (analysis/motor_constants.h).

#pragma once

#include "analysis/calibration.h"
#include "analysis/outcome.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

inline constexpr double kLag_u_rel = 0.1;  // of the lag that the bench file states
inline constexpr double kLeastEmfShare = 0.15;
inline constexpr std::size_t kLeastFalling = 7;

struct RunDownQuestion {
  double off_s = 0;   // the motor was commanded off; the relay opens then or a little later
  double hold_v = 0;  // V_h
  double lag_s = 0;   // tau as stated
  SampleNoise noise;
};

struct RunDown {
  double opened_s = 0;    // t_o
  double back_emf_v = 0;  // E
  double fall_v_s = 0;    // S, > 0
};

struct RunDownNoise {
  double u_back_emf_v = 0;
  double u_fall_v_s = 0;
  double covariance_v2_s = 0;  // of the two: the same samples give both
};

// `voltage`: at the terminals; time in seconds as `off_s`.
[[nodiscard]] Outcome<RunDown> run_down_of(const Column& voltage, const RunDownQuestion& question);
[[nodiscard]] Outcome<RunDownNoise> run_down_noise(const Column& voltage,
                                                   const RunDownQuestion& question);

}  // namespace endgate::analysis
