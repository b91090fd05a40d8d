// Did a slow channel change its level from one moment to the next?
//
// Barometer, humidity and temperatures of room, head and case cannot jump: room and metal are slow.
//
// RULE, at every sample with ten samples before and ten from it on
//
//   J = line through those from it on, less line through those before, at the moment between
//   jumped:  |J| > max( kJump u_J, 2 u_offset )
//
//   u_J from the noise model, correlation included (analysis/window_moments.h, (1)).  Two u_offset:
//   a smaller jump stays inside what the calibration states and does no harm.

#pragma once

#include "analysis/accusation.h"

namespace endgate::analysis {

inline constexpr double kJump = 7;

[[nodiscard]] MaybeAccusation jumped(Role role, const Samples& samples);

}  // namespace endgate::analysis
