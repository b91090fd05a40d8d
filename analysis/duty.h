// How long may a unit run, and how much of its time, before its cut-out opens?
//
// MODEL  one node, heated while on, cooled while off
//
//   on    rise(t) = D - (D - rise_0) exp(-t / tau_h)
//   off   rise(t) = rise_0 exp(-t / tau_c)            tau_c > tau_h where a fan stops with the
//                                                     motor
//
//   Periodic steady state of t_on, t_off:  peak = D (1 - a) / (1 - a b),
//                                          a = exp(-t_on / tau_h), b = exp(-t_off / tau_c)   (1)
//
//     D    rise over the room of a unit that runs on and on    [K]
//     tau  time constants                                      [s], from minutes on: a test of a
//          minute does not tell them (with tau = 25 min and 0.2 K noise, 5 min of readings know D
//          of 130 K to 8 K, 15 min to 0.5 K), so they come from a heating run of the model
//
//   Constant loss and room; a winding heats faster than its case.  Valid for the node that carries
//   the cut-out.  A duty factor says nothing without its cycle length: the same unit may be kept
//   below by 64 % in ten minutes and 44 % in an hour.
//
// Source: lumped-capacity theory; check values in tests/analysis/cause_duty_test.cpp.

#pragma once

#include <optional>

namespace endgate::analysis {

struct HeatingCurve {
  double final_rise_k = 0;   // D, > 0
  double tau_heating_s = 0;  // > 0
  double tau_cooling_s = 0;  // > 0
};

struct DutyCycle {
  double on_s = 0;
  double off_s = 0;
};

// The highest rise, once every cycle is like the one before.
[[nodiscard]] double peak_rise_k(const HeatingCurve& curve, const DutyCycle& cycle);

// From cold until `limit_rise_k` (cut-out over room); missing: it never gets that warm.
[[nodiscard]] std::optional<double> longest_on_s(const HeatingCurve& curve, double limit_rise_k);

// The largest share of `cycle_s` that stays below; 1 when it may run on and on.
[[nodiscard]] double largest_duty_factor(const HeatingCurve& curve, double limit_rise_k,
                                         double cycle_s);

}  // namespace endgate::analysis
