// Ramp: the back-pressure valve's set point climbs at the rate of the model file and the outlet stays
// open, so the pressure rises through every pressure in seconds while the flow is metered.  Over when
// the pressure is at the target.  A unit that delivers less than the rate asks for lets the valve
// close and rises by itself.

#include <algorithm>

#include "analysis/ramp_windows.h"
#include "daemon/bench/actuators.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

constexpr double kEvery_s = 0.05;  // between set points: finer than a valve follows
// Of the tolerance: the target itself is what the hold commands that the ramp leads to, and a recorded
// run tells the two apart by it.
constexpr double kBelow = 0.2;

class RampStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    const auto pressure = view.frame.value(analysis::Role::discharge_pressure);
    from_pa_ = std::max(0.0, pressure.value_or(0));
    std::vector<ActuatorCommand> commands;
    command(commands, view.bench, actuator::kBackPressure, analysis::kRampBegins_pa);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = true;
    climb(outcome, view);
    const auto pressure = view.frame.value(analysis::Role::discharge_pressure);
    if (pressure && *pressure >= view.step.target_gauge_pa - view.step.tolerance_gauge_pa)
      outcome.end = analysis::StepEnd::complete;
    return outcome;
  }

 private:
  void climb(StepOutcome& outcome, const StepView& view) {
    if (view.elapsed_s() < next_s_) return;
    next_s_ = view.elapsed_s() + kEvery_s;
    const double climbed_pa = from_pa_ + view.step.rise_pa_s * view.elapsed_s();
    const double top_pa = view.step.target_gauge_pa - kBelow * view.step.tolerance_gauge_pa;
    const double set_pa = std::min(top_pa, std::max(analysis::kRampBegins_pa, climbed_pa));
    command(outcome.commands, view.bench, actuator::kBackPressure, set_pa);
  }

  double from_pa_ = 0;
  double next_s_ = 0;
};

}  // namespace

std::unique_ptr<Step> make_ramp_step() { return std::make_unique<RampStep>(); }

}  // namespace endgate::daemon
