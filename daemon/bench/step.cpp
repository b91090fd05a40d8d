#include "daemon/bench/step.h"

#include <cmath>

#include "daemon/bench/actuators.h"

namespace endgate::daemon {
namespace {

std::optional<std::size_t> channel_of(const BenchDefinition& bench, analysis::Role role) {
  for (std::size_t i = 0; i < bench.channels.size(); ++i)
    if (bench.channels[i].facts.role == role) return i;
  return std::nullopt;
}

}  // namespace

StepOutcome Step::at_limit(const StepView& view) {
  StepOutcome outcome;
  outcome.end = analysis::StepEnd::bench_time_limit;
  outcome.reason = view.ready_us ? "its time limit came before its end condition"
                                 : "it was not ready before its time limit";
  return outcome;
}

std::vector<ActuatorCommand> Step::left_alone(const StepView&) { return {}; }

bool has_role(const BenchDefinition& bench, analysis::Role role) {
  return channel_of(bench, role).has_value();
}

bool is_vented(const BenchDefinition& bench, const Frame& frame) {
  if (!has_role(bench, analysis::Role::discharge_pressure)) return true;
  const auto pressure = frame.value(analysis::Role::discharge_pressure);
  return pressure && *pressure < kVentedGaugePa;
}

bool is_clamped(const BenchDefinition& bench, const Frame& frame) {
  return !find_actuator(bench, actuator::kClamp) ||
         frame.interlocks.fixture_clamped.value_or(false);
}

bool is_fresh(const BenchDefinition& bench, const Frame& frame, analysis::Role role) {
  const auto channel = channel_of(bench, role);
  for (const Reading& reading : frame.readings)
    if (channel == reading.channel) return reading.quality == analysis::Quality::good;
  return false;
}

const std::string& channel_id_of(const BenchDefinition& bench, analysis::Role role) {
  static const std::string none;
  const auto channel = channel_of(bench, role);
  return channel ? bench.channels[*channel].facts.id : none;
}

bool within_tolerance(const StepView& view, double target_gauge_pa) {
  const auto pressure = view.frame.value(analysis::Role::discharge_pressure);
  return pressure && std::abs(*pressure - target_gauge_pa) <= view.step.tolerance_gauge_pa;
}

void choose_receiver(std::vector<ActuatorCommand>& commands, const StepView& view) {
  if (!is_vented(view.bench, view.frame)) return;
  for (const ReceiverDefinition& receiver : view.bench.receivers)
    if (receiver.name == view.step.receiver)
      command(commands, view.bench, actuator::kReceiver, receiver.actuator_value);
}

}  // namespace endgate::daemon
