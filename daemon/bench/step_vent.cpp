// Vent: motor off, then everything to its safe value; over when the receiver is empty and the relay
// is read back open.

#include "daemon/bench/actuators.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

class VentStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    return safe_commands(view.bench);
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = is_vented(view.bench, view.frame);
    const bool relay_open = !view.frame.interlocks.motor_relay_closed.value_or(false);
    const bool long_enough = view.elapsed_s() >= view.step.duration_s;
    if (outcome.ready && relay_open && long_enough) outcome.end = analysis::StepEnd::complete;
    return outcome;
  }
};

}  // namespace

std::unique_ptr<Step> make_vent_step() { return std::make_unique<VentStep>(); }

}  // namespace endgate::daemon
