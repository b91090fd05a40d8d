// Pump-up: the outlet is shut and the unit fills the receiver to the target; the pressure rises
// through every pressure in seconds, and the evaluation finds the flow from the rise.  The
// back-pressure valve takes its set point while it is not needed yet: set late, it would open wide.

#include "daemon/bench/actuators.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

class PumpUpStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    std::vector<ActuatorCommand> commands;
    command(commands, view.bench, actuator::kBackPressure, view.step.target_gauge_pa);
    command(commands, view.bench, actuator::kShutOff, 1);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = true;
    const auto pressure = view.frame.value(analysis::Role::discharge_pressure);
    if (!pressure || *pressure < view.step.target_gauge_pa) return outcome;
    outcome.end = analysis::StepEnd::complete;
    open_up(outcome, view);
    return outcome;
  }

  // A weak unit does not get there; what it showed on the way counts.
  StepOutcome at_limit(const StepView& view) override {
    StepOutcome outcome = Step::at_limit(view);
    open_up(outcome, view);
    return outcome;
  }

 private:
  static void open_up(StepOutcome& outcome, const StepView& view) {
    command(outcome.commands, view.bench, actuator::kShutOff, 0);
  }
};

}  // namespace

std::unique_ptr<Step> make_pump_up_step() { return std::make_unique<PumpUpStep>(); }

}  // namespace endgate::daemon
