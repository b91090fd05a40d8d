// Which motor is in the unit, told apart from its supply and its load?
//
// MODEL
//
//   V = R(T_w) I + 2 pi k(T_m) N + V_b            at every hold                                 (1)
//   E = 2 pi k(T_m) N                             in the moment the relay opens (run_down.h)    (2)
//   J d(omega)/dt = -k I                          right after it: the load is still there       (3)
//
//   At one supply voltage N is a straight line in I, and (1) alone has rank 2 of 3: R/k and (V - V_b)/k
//   come out, no more.  (2) gives k by itself, N being that of the hold before; what is left of (1) is
//   a straight line in I over the holds: R its slope, V_b its intercept.  Speed and voltage enter (2)
//   and (1) alike, so errors of gain hardly reach R and V_b.
//
//   k(T) = k_20 / (1 + c (T - 20 degC))           c: learned speed_per_case_k, T: case
//   R(T) = R_20 (1 + 0.00393 (T - 20 degC))       T: case and computed lead of the winding
//   J    = k^2 I / S                              S = k d(omega)/dt from the run-down
//
//   Weighted least squares; u of the weights: noise of voltage, of k N and of R I.
//
// WHAT THE DATA DO NOT SEPARATE is refused in words: without a run-down all of it; R from V_b with
//   fewer than two holds, or where the currents of the holds differ by less than kLeastSpread of the
//   largest (condition of the scaled columns beyond some 10).  The temperature of the winding by its
//   resistance is not given: in one test R_20 is not known but through that temperature, and the
//   seconds at load warm a winding by some kelvin, a hundredth of R; the brush drop takes that up.
//   Friction is not told apart from what valves and gas take: their sum at 0 kPa is k I there.
//
// STATED beyond channels and constants: kOpened_u_s for what a sampling channel does to its lag and an
//   arc to the opening; kWinding_u_k for the temperature of a winding in its first half minute;
//   kNoLoad_u_rel for the current at 0 kPa, whose correction to reference was learned under load.
//
// RANGE: k of a permanent magnet motor whose armature reaction is small.  Currents count by their
//   size: leads the wrong way round change none of this.
//
// Source: standard machine theory; copper's coefficient as IEC 60028 has it.

#pragma once

#include <optional>

#include "analysis/measured.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

inline constexpr double kLeastSpread = 0.25;
inline constexpr double kReferenceWinding_k = 293.15;
inline constexpr double kOpened_u_s = 3e-4;
inline constexpr double kWinding_u_k = 0.8;
inline constexpr double kNoLoad_u_rel = 0.004;

struct WindingAndBrush {
  double winding_resistance_ohm = 0;  // at 20 degC
  double brush_drop_v = 0;            // both brushes
};

struct MotorConstants {
  double machine_constant_v_s = 0;  // k_20, V s/rad = N m/A
  double magnets_per_k = 0;         // c
  double moment_of_inertia_kg_m2 = 0;
  Outcome<WindingAndBrush> winding;

  // k with the magnets at this temperature.
  [[nodiscard]] double constant_at(double case_k) const {
    return machine_constant_v_s / (1 + magnets_per_k * (case_k - kReferenceWinding_k));
  }
};

[[nodiscard]] Outcome<MotorConstants> motor_constants(const Survey& survey,
                                                      const Measured& measured, const Knobs& knobs);

// What (2) and (3) need of the last hold: the one that the motor was switched off in.  Nothing where
// the test ended otherwise.
[[nodiscard]] std::optional<std::size_t> hold_before_off(const Survey& survey);

// Does the model ask for anything that the run-down is needed for?
[[nodiscard]] bool asks_for_motor(const ModelFacts& model);

// With the readings as they are.
[[nodiscard]] Outcome<RunDown> find_run_down(const Survey& survey);
// With turned knobs.  Gain and offset of the voltage turn the voltages found; only another lag needs
// the samples again.
[[nodiscard]] Outcome<RunDown> measure_run_down(const Survey& survey, const Knobs& knobs);
[[nodiscard]] RunDownNoise noise_of_run_down(const Survey& survey);

}  // namespace endgate::analysis
