// How fast does a closed volume lose pressure through a leak, whatever its gas does meanwhile?
//
// MODEL                                            t from the closing of the valve, p absolute
//
//   p(t) = A + B exp(-s(t)) - C g(t)                                                        (1)
//   g(t) = integral of (p^2 - p_a^2) dt / (p_m^2 - p_a^2)      laminar leak law
//   s(t) = integral of (p/p_m)^x dt / tau                      conductance grows with p^x
//
//     A, B, C  fitted.  C is the rate of loss at the mean pressure p_m              [Pa, Pa, Pa/s]
//     B        pressure by which the gas is too warm at the start, roughly known: a prior row
//     tau      time in which the gas takes the temperature of its wall              [s]
//
//   In a dwell of seconds temperature, not noise, sets the accuracy: 1 K at 600 kPa is 2 kPa, and
//   over a dwell of about tau B and C look alike.  With a gas 10 K off, tau must be known to some
//   per cent, better than any constant is: it is found in the dwell itself, as the tau with the
//   least chi2 + (ln(tau/tau_0) / u_ln)^2, and its u from the curvature there.
//
// ESTIMATE
//
//   Samples are averaged in blocks of at least three correlation times (at most 40 blocks); their
//   means are nearly independent and enter analysis/least_squares.h.  g and s are integrated over
//   the block means, so neither law needs a second fit.  u grows with the root of chi2/dof where
//   the blocks scatter more than their u.
//
// Refuses with too_few_points (below 8 blocks), value_out_of_domain (no pressure above the
// outside), or as the least squares do.

#pragma once

#include <vector>

#include "analysis/outcome.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

struct DecayBlock {
  double time_s = 0;       // from the start of the window
  double pressure_pa = 0;  // gauge
  double u_pa = 0;
};

[[nodiscard]] std::vector<DecayBlock> decay_blocks(const Column& gauge, const Window& window,
                                                   const SampleNoise& noise);

// p^2 - p_a^2 of the laminar law, from gauge pressure and without the cancellation.
[[nodiscard]] constexpr double laminar_driving_pa2(double gauge_pa, double outside_abs_pa) {
  return gauge_pa * (gauge_pa + 2 * outside_abs_pa);
}

struct DecayModel {
  double outside_abs_pa = 0;
  double cooling_s = 0;             // tau, > 0
  double conductance_exponent = 0;  // x
  double warm_start_pa = 0;
  double u_warm_start_pa = 0;  // > 0
};

struct Decay {
  double loss_pa_s = 0;         // C, > 0 for a leak
  double u_random_pa_s = 0;     // without the part that comes from the prior of B
  double per_warm_start_s = 0;  // dC / d(prior of B)                               [1/s]
  double mean_abs_pa = 0;       // p_m
  double chi_square = 0;
};

[[nodiscard]] Outcome<Decay> fit_decay(const std::vector<DecayBlock>& blocks,
                                       const DecayModel& model);

struct CoolingTime {
  double tau_s = 0;
  double u_rel = 0;
};

// tau from the dwell; `model.cooling_s` is tau_0.
[[nodiscard]] Outcome<CoolingTime> find_cooling_time(const std::vector<DecayBlock>& blocks,
                                                     const DecayModel& model, double u_ln);

}  // namespace endgate::analysis
