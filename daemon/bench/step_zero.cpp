// Zero: everything off and vented, the sensors' own zero is recorded.  Dwells from the moment the
// receiver is empty; a receiver that does not empty is the bench's fault, not the unit's.

#include "daemon/bench/actuators.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

class ZeroStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    return safe_commands(view.bench);
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = is_vented(view.bench, view.frame);
    if (view.ready_us && view.dwelt_s() >= view.step.duration_s)
      outcome.end = analysis::StepEnd::complete;
    return outcome;
  }

  StepOutcome at_limit(const StepView& view) override {
    StepOutcome outcome = Step::at_limit(view);
    if (!view.ready_us) {
      outcome.off = analysis::BreakOff::not_started;
      outcome.reason = "the receiver did not fall below 20 kPa gauge before the start";
    }
    return outcome;
  }
};

}  // namespace

std::unique_ptr<Step> make_zero_step() { return std::make_unique<ZeroStep>(); }

}  // namespace endgate::daemon
