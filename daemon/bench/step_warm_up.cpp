// Warm-up: the unit runs against its target (0 kPa as a rule) for a fixed time.

#include "daemon/bench/actuators.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

class WarmUpStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    std::vector<ActuatorCommand> commands;
    command(commands, view.bench, actuator::kBackPressure, view.step.target_gauge_pa);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = within_tolerance(view, view.step.target_gauge_pa);
    if (view.elapsed_s() >= view.step.duration_s) outcome.end = analysis::StepEnd::complete;
    return outcome;
  }
};

}  // namespace

std::unique_ptr<Step> make_warm_up_step() { return std::make_unique<WarmUpStep>(); }

}  // namespace endgate::daemon
