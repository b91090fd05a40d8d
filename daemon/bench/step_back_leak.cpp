// Back leak: motor off, the gas is let down until expansion has cooled it to about the wall, then
// the receiver is shut in with the unit and its pressure watched.  Ready when shut.  Ends when advice
// says that the leak is decided (analysis/advise_leak.h), else after duration_s.

#include "daemon/bench/actuators.h"
#include "daemon/bench/advised.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

constexpr double kLetDownWithin_s = 2;

double let_down_gauge_pa(const StepDefinition& step) {
  return step.let_down_to_gauge_pa > 0 ? step.let_down_to_gauge_pa : step.target_gauge_pa;
}

class BackLeakStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    std::vector<ActuatorCommand> commands;
    command(commands, view.bench, actuator::kMotorRelay, 0);
    command(commands, view.bench, actuator::kBackPressure, let_down_gauge_pa(view.step));
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    if (!view.ready_us) {
      outcome.ready = is_let_down(view) || view.elapsed_s() >= kLetDownWithin_s;
      if (outcome.ready) command(outcome.commands, view.bench, actuator::kShutOff, 1);
    } else if (view.advice) {
      outcome.end = analysis::StepEnd::complete;
      outcome.reason = advised(*view.advice);
    } else if (view.dwelt_s() >= view.step.duration_s) {
      outcome.end = analysis::StepEnd::complete;
    }
    return outcome;
  }

 private:
  static bool is_let_down(const StepView& view) {
    const auto pressure = view.frame.value(analysis::Role::discharge_pressure);
    return pressure && *pressure <= let_down_gauge_pa(view.step) + view.step.tolerance_gauge_pa;
  }
};

}  // namespace

std::unique_ptr<Step> make_back_leak_step() { return std::make_unique<BackLeakStep>(); }

}  // namespace endgate::daemon
