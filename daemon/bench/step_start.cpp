// Start: valves and supply first, the relay last; ready at running speed.  A unit that does not
// start in time is accused, and the accusation is confirmed when voltage stood at its terminals,
// the relay was read back closed and the speed channel was heard.  Without a tacho the speed is
// what voltage and current make (running_speed.h); then it must stand for kSure_s, because the two
// do not rise together.

#include "daemon/bench/actuators.h"
#include "daemon/bench/running_speed.h"
#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

using analysis::Role;

constexpr double kSure_s = 0.2;

bool relay_is_closed(const Frame& frame) {
  return frame.interlocks.motor_relay_closed.value_or(true);
}

analysis::Trip no_start(const StepView& view) {
  const bool has_tacho = has_role(view.bench, Role::speed);
  const auto speed = running_speed_rev_s(view);
  const auto voltage = view.frame.value(Role::supply_voltage);
  analysis::Trip trip;
  trip.limit_id = "no_start";
  trip.channel_id = channel_id_of(view.bench, has_tacho ? Role::speed : Role::supply_current);
  trip.accuses = analysis::TripAccuses::unit;
  trip.limit_si = view.model.running_speed_rev_s;
  trip.value_si = speed.value_or(0);
  trip.upper = false;
  trip.time_us = view.frame.bench_time_us;
  const bool powered = voltage && *voltage > 0.5 * view.model.supply_set_v;
  trip.confirmed = speed && powered && relay_is_closed(view.frame);
  if (trip.confirmed) trip.confirmed_by = channel_id_of(view.bench, Role::supply_voltage);
  return trip;
}

class StartStep final : public Step {
 public:
  std::vector<ActuatorCommand> enter(const StepView& view) override {
    std::vector<ActuatorCommand> commands;
    choose_receiver(commands, view);
    command(commands, view.bench, actuator::kBackPressure, view.step.target_gauge_pa);
    command(commands, view.bench, actuator::kShutOff, 0);
    command(commands, view.bench, actuator::kVent, 0);
    command(commands, view.bench, actuator::kSupplyVoltage, view.model.supply_set_v);
    command(commands, view.bench, actuator::kMotorRelay, 1);
    return commands;
  }

  StepOutcome on_frame(const StepView& view) override {
    StepOutcome outcome;
    outcome.ready = runs(view);
    const bool started = outcome.ready || view.ready_us;
    if (started && view.dwelt_s() >= view.step.duration_s)
      outcome.end = analysis::StepEnd::complete;
    if (!started && view.elapsed_s() >= view.model.start_within_s) outcome.trip = no_start(view);
    return outcome;
  }

 private:
  bool runs(const StepView& view) {
    const auto speed = running_speed_rev_s(view);
    const bool fast = speed && *speed > view.model.running_speed_rev_s;
    if (!fast) fast_since_us_.reset();
    if (!fast || has_role(view.bench, Role::speed)) return fast;
    if (!fast_since_us_) fast_since_us_ = view.frame.bench_time_us;
    return view.seconds_since(*fast_since_us_) >= kSure_s;
  }

  std::optional<std::int64_t> fast_since_us_;
};

}  // namespace

std::unique_ptr<Step> make_start_step() { return std::make_unique<StartStep>(); }

}  // namespace endgate::daemon
