// How much does the unit leak backwards, and how much does its housing leak?
//
//   q = V C / p_ref  T_ref/T  f(mean over p_a -> target over p_ref)  -  fixture               (1)
//
//     C     loss of pressure, analysis/pressure_decay.h, after what a tight volume would have done
//           in the same seconds is taken off the pressure
//     f     carries the leak from the mean pressure of the dwell to the target of the step, and to
//           the reference barometer, between the laminar and the orifice law (analysis/leak_law.h)
//
// Volume flow at the reference inlet state, at the step's target pressure; by f too at the pressure
// of service that the model file names.
//
// Back leak: receiver shut on both sides, motor off, gas flows back through valve, reeds and rings.
//   In a dwell of seconds the gas takes the temperature of a wall that is not constant, and water
//   that the humid air left evaporates, cools the gas and adds its vapour.  All that is carried on
//   from the gas balance of the whole test (analysis/receiver_gas.h).  Where run-down and valve
//   made the gas warmer than the balance says, the model's learned excess is added, and the rest is
//   fitted under its u.
// Seal leak: housing filled, then shut.  The gas follows the case by the model's learned share of
//   its drift, after a cooling time that is found in the dwell, starting from kHousingCooling_s.
//
// Not in it: a receiver whose wall is still warm from the test before (it starts at room
// temperature).  Inside the dwell, over which the pressure hardly falls, the law is laminar.

#pragma once

#include "analysis/knobs.h"
#include "analysis/measured.h"
#include "analysis/outcome.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kHousingCooling_s = 2.5;  // half a litre of air; a wide prior
inline constexpr double kHousingCooling_u_ln = 0.7;
inline constexpr double kHousingStart_u_k = 10;

inline constexpr double kRunDown_s = 0.3;  // after a valve shut: crank and gas come to rest

// What is not watched after the valve shut.  A housing may be shut in the moment the motor stops; until
// its thermometer (lag) and its gas have followed, the case seems to warm as it did before.
[[nodiscard]] double not_watched_s(StepKind kind, double case_lag_s, double rested_s);

[[nodiscard]] Outcome<LeakReading> measure_back_leak(const Survey& survey,
                                                     const GasHistory& history, const Knobs& knobs);
[[nodiscard]] Outcome<LeakReading> measure_seal_leak(const Survey& survey, const Knobs& knobs);

// The receiver of the back leak as it was when the dwell began.
struct DwellStart {
  const LeakWindow& leak;
  double warmer_k = 0;  // than the balance says
};
[[nodiscard]] ShutReceiver shut_receiver(const Survey& survey, const GasSettings& settings,
                                         const GasHistory& history, const DwellStart& dwell);

// The cooling time that the housing's dwell itself shows; kept in the survey's leak window.
void find_seal_cooling_time(Survey& survey);

}  // namespace endgate::analysis
