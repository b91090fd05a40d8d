// How much does the unit leak backwards, and how much does its housing leak?
//
//   q = V C / p_ref  T_ref/T  - fixture         C: loss of pressure, analysis/pressure_decay.h
//
// Volume flow at the reference inlet state (dry), at the mean pressure of the dwell.
//
// Back leak: receiver shut on both sides, motor off, gas flows back through valve, reeds and rings.
//   tau from volume and conductance of the receiver; the temperature of the gas at the start comes
//   from the gas balance of the whole test (analysis/receiver_gas.h) and is a prior with
//   kStart_u_k + kStart_u_rel (T - T_w).
// Seal leak: housing filled, then shut.  The gas in it follows the case, so a measured change of
//   case temperature is taken off: C = -dp/dt + share p/T dT_case/dt, share kCaseShare.
//
// Not in it: leaks that choke (the law is laminar), water that condenses.

#pragma once

#include "analysis/knobs.h"
#include "analysis/measured.h"
#include "analysis/outcome.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kStart_u_k = 1.5;
inline constexpr double kStart_u_rel = 0.3;
inline constexpr double kCaseShare = 0.5;
inline constexpr double kCaseShare_u = 0.3;

[[nodiscard]] Outcome<LeakReading> measure_back_leak(const Survey& survey,
                                                     const GasHistory& history, const Knobs& knobs);
[[nodiscard]] Outcome<LeakReading> measure_seal_leak(const Survey& survey, const Knobs& knobs);

}  // namespace endgate::analysis
