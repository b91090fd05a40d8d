// Seal leak: the housing is filled, shut (ready) and its pressure watched until advice says that the
// leak is decided (analysis/advise_leak.h), else for duration_s; then it is vented.
//
// The fill stays open until the pressure has stood within tolerance of the target for kSoak_s, so
// that most of the heat of filling is gone.  A regulated fill never quite reaches its set pressure.
// A housing that leaks so much that it cannot be filled is shut at the pressure it reached, as long
// as that is half the target: its leak must still be measured.  Below that nothing is measured and
// the step ends by its limit without ever being ready.
//
// It may run beside other steps, since the housing has valves of its own: only for a model whose
// running or back leak does not itself pressurise the housing (a crank case that breathes the
// room).  Beside a step with the motor on it only fills: a case that is warming is not watched.  In
// its own place the motor is off: it switches it off where no step before did.

#include "daemon/bench/actuators.h"
#include "daemon/bench/advised.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

constexpr double kSoak_s = 3;
constexpr double kLeastShareOfTarget = 0.5;
constexpr double kReserve_s = 1;  // of the limit, beyond the dwell

class SealLeakStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    std::vector<ActuatorCommand> commands;
    if (!view.beside) stop_and_empty(commands, view);
    command(commands, view.bench, actuator::kSealVent, 0);
    command(commands, view.bench, actuator::kSealFill, 1);
    return commands;
  }

  std::vector<ActuatorCommand> left_alone(const StepView& view) override {
    std::vector<ActuatorCommand> commands;
    stop_and_empty(commands, view);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    if (!view.ready_us) {
      outcome.ready = is_filled(view) && !view.motor_runs;
      if (outcome.ready) command(outcome.commands, view.bench, actuator::kSealFill, 0);
    } else if (view.advice || view.dwelt_s() >= view.step.duration_s) {
      outcome.end = analysis::StepEnd::complete;
      if (view.advice) outcome.reason = advised(*view.advice);
      open_up(outcome, view);
    }
    return outcome;
  }

  StepOutcome at_limit(const StepView& view) override {
    StepOutcome outcome = Step::at_limit(view);
    if (!view.ready_us) outcome.reason = "the housing could not be filled before its time limit";
    open_up(outcome, view);
    return outcome;
  }

 private:
  // Gas that leaks past the rings would fill the housing from inside; and it saves time.
  static void stop_and_empty(std::vector<ActuatorCommand>& commands, const StepView& view) {
    if (view.motor_runs) command(commands, view.bench, actuator::kMotorRelay, 0);
    command(commands, view.bench, actuator::kShutOff, 0);
    command(commands, view.bench, actuator::kBackPressure, 0);
    command(commands, view.bench, actuator::kVent, 1);
  }

  bool is_filled(const StepView& view) {
    const auto pressure = view.frame.value(analysis::Role::seal_pressure);
    const double target = view.step.target_gauge_pa;
    if (!pressure) return false;
    if (*pressure < target - view.step.tolerance_gauge_pa)
      full_since_us_.reset();
    else if (!full_since_us_)
      full_since_us_ = view.frame.bench_time_us;
    if (full_since_us_ && view.seconds_since(*full_since_us_) >= kSoak_s) return true;
    const bool last_chance =
        view.elapsed_s() >= view.step.limit_s - view.step.duration_s - kReserve_s;
    return last_chance && *pressure >= kLeastShareOfTarget * target;
  }

  static void open_up(StepOutcome& outcome, const StepView& view) {
    command(outcome.commands, view.bench, actuator::kSealFill, 0);
    command(outcome.commands, view.bench, actuator::kSealVent, 1);
  }

  std::optional<std::int64_t> full_since_us_;
};

}  // namespace

std::unique_ptr<Step> make_seal_leak_step() { return std::make_unique<SealLeakStep>(); }

}  // namespace endgate::daemon
