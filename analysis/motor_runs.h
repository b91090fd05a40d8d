// During which kinds of step is the motor commanded on, and during which does the pressure rise?

#pragma once

#include "analysis/raw_trace.h"

namespace endgate::analysis {

[[nodiscard]] constexpr bool motor_runs(StepKind kind) {
  return kind == StepKind::start || kind == StepKind::warm_up || kind == StepKind::hold ||
         kind == StepKind::pump_up || kind == StepKind::ramp;
}

// Measured on the way (analysis/ramp_windows.h).
[[nodiscard]] constexpr bool rises(StepKind kind) {
  return kind == StepKind::pump_up || kind == StepKind::ramp;
}

}  // namespace endgate::analysis
