// How fast does the motor turn now, well enough to steer by?
//
// The tacho's value.  On a bench without one, what voltage and current of the model's nominal motor
// make, within some ten per cent:
//
//   N = (V - V_brush - R |I|) / (2 pi k)
//
// Absent while less than a third of the motor's own friction current flows: a wire that is off, or
// a motor that coasts, would look like one that runs.  Decides nothing about a unit but that it
// turns.

#pragma once

#include <optional>

#include "daemon/bench/step.h"

namespace endgate::daemon {

[[nodiscard]] std::optional<double> running_speed_rev_s(const StepView& view);

}  // namespace endgate::daemon
