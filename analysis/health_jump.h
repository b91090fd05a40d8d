// Did a slow channel change its level from one moment to the next?
//
// Barometer, humidity and temperatures of room, head and case cannot jump: room and metal are slow.
//
// RULE, at every sample with ten samples before and ten from it on
//
//   J = line through those from it on, less line through those before, at the moment between
//   jumped:  |J| > max( kJump u_J, 2 u_offset )      6 u_offset for the head
//
//   u_J from the noise model, correlation included (analysis/window_moments.h, (1)).  Two u_offset:
//   a smaller jump stays inside what the calibration states and does no harm.  The warming of the
//   head bends when the load changes, most of all with the motor of another model.  Sensors of head
//   and case come from the unit before and follow with their lag: their first kArrived lags are not
//   judged.
//
// LEAP    A sensor with a lag L cannot take a step at once: what it shows in one sampling period
//         T it goes on showing in the next, less by exp(-T/L) at most.  For fast channels, from
//         kSettled_s after a hold or a leak step was ready (seal pressure: the whole seal leak),
//         with d_i = y_i - y_(i-1):
//
//   jumped:  |d_i| > kLeap exp(T/L) max(|d_(i-1)|, |d_(i+1)|) + kJump s_d + step
//
//         and |d_i| > 4 times the third largest of the 24 changes on either side: ripple comes
//         again. s_d: standard deviation of d by the noise model.

#pragma once

#include "analysis/accusation.h"

namespace endgate::analysis {

inline constexpr double kJump = 7;
inline constexpr double kArrived = 5;  // 40 K between two units have become 0.3 K

inline constexpr double kLeap = 3;
inline constexpr double kSettled_s = 0.5;

[[nodiscard]] MaybeAccusation jumped(Role role, const Samples& samples);
[[nodiscard]] MaybeAccusation leaped(Role role, const Samples& samples, const RawTrace& trace);

}  // namespace endgate::analysis
