#include "daemon/bench/actuators.h"

#include <cmath>
#include <limits>

namespace endgate::daemon {
namespace {

// For benches whose file names no safe value: without pressure, without power, open to the air.
std::optional<double> safe_by_nature(std::string_view id) {
  if (id == actuator::kVent || id == actuator::kSealVent) return 1;
  if (id == actuator::kShutOff || id == actuator::kSealFill) return 0;
  if (id == actuator::kBackPressure || id == actuator::kSupplyVoltage) return 0;
  return std::nullopt;
}

bool is_not_a_safe_value(std::string_view id) {
  return id == actuator::kMotorRelay || id == actuator::kLease || id == actuator::kOwner ||
         id == actuator::kReceiver;  // may only be moved while vented
}

}  // namespace

std::optional<std::size_t> find_actuator(const BenchDefinition& bench, std::string_view id) {
  for (std::size_t i = 0; i < bench.actuators.size(); ++i)
    if (bench.actuators[i].id == id) return i;
  return std::nullopt;
}

std::optional<std::uint16_t> counts_of(const ActuatorDefinition& actuator, double value_si) {
  if (!(value_si >= actuator.min_si && value_si <= actuator.max_si)) return std::nullopt;
  const double counts = std::round(value_si / actuator.scale);
  if (!(counts >= 0 && counts <= std::numeric_limits<std::uint16_t>::max())) return std::nullopt;
  return static_cast<std::uint16_t>(counts);
}

void command(std::vector<ActuatorCommand>& commands, const BenchDefinition& bench,
             std::string_view id, double value_si) {
  if (find_actuator(bench, id)) commands.push_back({std::string(id), value_si});
}

std::vector<ActuatorCommand> safe_commands(const BenchDefinition& bench) {
  std::vector<ActuatorCommand> commands;
  command(commands, bench, actuator::kMotorRelay, 0);
  for (const ActuatorDefinition& each : bench.actuators) {
    if (is_not_a_safe_value(each.id)) continue;
    const auto value = each.safe_si ? each.safe_si : safe_by_nature(each.id);
    if (value) commands.push_back({each.id, *value});
  }
  return commands;
}

bool is_motor_off(const ActuatorCommand& command) {
  return command.actuator == actuator::kMotorRelay && command.value_si < 0.5;
}

bool is_motor_on(const ActuatorCommand& command) {
  return command.actuator == actuator::kMotorRelay && command.value_si >= 0.5;
}

}  // namespace endgate::daemon
