// Zero: everything off and vented, the fixture clamp closed, the sensors' own zero is recorded.
// Dwells from the moment the receiver is empty and the clamp is read back closed, longer while
// pressure or flow of the test before still die away; a bench that does not get there is at fault
// itself, not the unit, and no motor starts.

#include <algorithm>

#include "daemon/bench/actuators.h"
#include "daemon/bench/rest_watch.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

class ZeroStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    for (const analysis::Role role : {analysis::Role::discharge_pressure, analysis::Role::flow})
      watches_.emplace_back(view.bench, role);
    std::vector<ActuatorCommand> commands = safe_commands(view.bench);
    command(commands, view.bench, actuator::kClamp, 1);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = is_vented(view.bench, view.frame) && is_clamped(view.bench, view.frame);
    if (!view.ready_us) return outcome;
    for (RestWatch& watch : watches_) watch.look(view.bench, view.frame);
    if (view.dwelt_s() >= view.step.duration_s && at_rest())
      outcome.end = analysis::StepEnd::complete;
    return outcome;
  }

  // What does not come to rest is shown to the evaluation, which names the channel.
  StepOutcome at_limit(const StepView& view) override {
    StepOutcome outcome = Step::at_limit(view);
    if (view.ready_us) {
      outcome.end = analysis::StepEnd::complete;
      outcome.reason = "pressure or flow had not come to rest";
    } else {
      outcome.off = analysis::BreakOff::not_started;
      outcome.reason = is_vented(view.bench, view.frame)
                           ? "the fixture clamp was not read back closed before the start"
                           : "the receiver did not fall below 20 kPa gauge before the start";
    }
    return outcome;
  }

 private:
  [[nodiscard]] bool at_rest() const {
    return std::all_of(watches_.begin(), watches_.end(),
                       [](const RestWatch& watch) { return watch.at_rest(); });
  }

  std::vector<RestWatch> watches_;
};

}  // namespace

std::unique_ptr<Step> make_zero_step() { return std::make_unique<ZeroStep>(); }

}  // namespace endgate::daemon
