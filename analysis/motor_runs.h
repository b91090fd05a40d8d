// During which kinds of step is the motor commanded on?

#pragma once

#include "analysis/raw_trace.h"

namespace endgate::analysis {

[[nodiscard]] constexpr bool motor_runs(StepKind kind) {
  return kind == StepKind::start || kind == StepKind::warm_up || kind == StepKind::hold ||
         kind == StepKind::pump_up;
}

}  // namespace endgate::analysis
