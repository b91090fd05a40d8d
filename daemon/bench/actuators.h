// What does a command mean in the registers of this bench, and which commands make it safe?
//
// Names the sequence uses are listed at ActuatorDefinition, and `clamp`: a bench with a fixture clamp
// of its own closes it in the zero step, where no motor runs yet, and opens it with the very end of
// the test: vented, relay read back open, crank at rest.  It stays closed behind an open cover, a
// pressed emergency stop, and on a bench that was given up on.
//
// An actuator the bench does not have is skipped: a bench without a seal valve can still test
// everything else.

#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "daemon/bench/sequence.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/links/link.h"

namespace endgate::daemon {

namespace actuator {
inline constexpr std::string_view kMotorRelay = "motor_relay";
inline constexpr std::string_view kSupplyVoltage = "supply_voltage";
inline constexpr std::string_view kBackPressure = "back_pressure";
inline constexpr std::string_view kVent = "vent";
inline constexpr std::string_view kShutOff = "shut_off";
inline constexpr std::string_view kReceiver = "receiver";
inline constexpr std::string_view kSealFill = "seal_fill";
inline constexpr std::string_view kSealVent = "seal_vent";
inline constexpr std::string_view kClamp = "clamp";  // 1 closed; fixture_clamped reads it back
inline constexpr std::string_view kLease = "lease";
inline constexpr std::string_view kOwner = "owner";
}  // namespace actuator

// Index in BenchDefinition::actuators.
[[nodiscard]] std::optional<std::size_t> find_actuator(const BenchDefinition& bench,
                                                       std::string_view id);

// What is written to the device for a value, several registers in one request; nothing when the
// value is outside [min_si, max_si] or does not fit the registers.
[[nodiscard]] std::optional<RegisterWrite> write_of(const ActuatorDefinition& actuator,
                                                    double value_si);

// The owner word as it stands in its register: no scale, no range; the unit is the actuator's.
[[nodiscard]] RegisterSpan owner_span(const ActuatorDefinition& owner);
[[nodiscard]] RegisterWrite owner_write(const ActuatorDefinition& owner, std::uint16_t word);

// Appends a command unless the bench has no such actuator.
void command(std::vector<ActuatorCommand>& commands, const BenchDefinition& bench,
             std::string_view id, double value_si);

// Motor off first, then every other actuator to its safe value in the order of the file.  The clamp
// stays as it is: what holds a unit under pressure has no safe value but the one it has.
[[nodiscard]] std::vector<ActuatorCommand> safe_commands(const BenchDefinition& bench);

[[nodiscard]] bool is_motor_off(const ActuatorCommand& command);
[[nodiscard]] bool is_motor_on(const ActuatorCommand& command);

}  // namespace endgate::daemon
