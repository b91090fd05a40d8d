#include "daemon/bench/step.h"

namespace endgate::daemon {

std::unique_ptr<Step> make_step(analysis::StepKind kind) {
  using analysis::StepKind;
  switch (kind) {
    case StepKind::zero:
      return make_zero_step();
    case StepKind::start:
      return make_start_step();
    case StepKind::warm_up:
      return make_warm_up_step();
    case StepKind::hold:
      return make_hold_step();
    case StepKind::back_leak:
      return make_back_leak_step();
    case StepKind::seal_leak:
      return make_seal_leak_step();
    case StepKind::vent:
      return make_vent_step();
    case StepKind::pump_up:
      return make_pump_up_step();
    case StepKind::ramp:
      return make_ramp_step();
    case StepKind::coast_down:
    case StepKind::cut_out:
      return nullptr;
  }
  return nullptr;
}

}  // namespace endgate::daemon
