#include <algorithm>
#include <array>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

// Names the sequence knows, each with the SI unit its value is in ("" for on/off and words).
constexpr std::array<NamedValue<const char*>, 10> kActuators{{{"motor_relay", ""},
                                                              {"supply_voltage", "V"},
                                                              {"back_pressure", "Pa gauge"},
                                                              {"vent", ""},
                                                              {"shut_off", ""},
                                                              {"receiver", ""},
                                                              {"seal_fill", ""},
                                                              {"seal_vent", ""},
                                                              {"lease", ""},
                                                              {"owner", ""}}};

void expect_actuator_unit(TomlReader& reader, const std::string& unit) {
  if (unit.empty()) return;
  const std::string written = reader.text("unit");
  if (!written.empty() && written != unit)
    reader.complain("unit", "\"" + unit + "\", found \"" + written + "\"");
}

void read_range(TomlReader& reader, ActuatorDefinition& actuator) {
  actuator.scale = reader.number_or("scale_si", actuator.scale, kAboveZero);
  actuator.min_si = reader.number_or("min_si", actuator.min_si);
  actuator.max_si = reader.number_or("max_si", actuator.max_si);
  if (actuator.max_si <= actuator.min_si) {
    reader.complain("max_si", "a number above min_si");
    return;
  }
  actuator.safe_si =
      reader.maybe_number("safe_si", {.min = actuator.min_si, .max = actuator.max_si});
  constexpr double kLargestCount = 65535;
  if (actuator.max_si / actuator.scale > kLargestCount)
    reader.complain("max_si", "a value that fits 65535 counts of scale_si");
}

void read_read_back(TomlReader& reader, RegisterScope scope, ActuatorDefinition& actuator) {
  scope.device = actuator.device;
  reader.section("read_back",
                 [&](TomlReader& part) { actuator.read_back = read_register(part, scope); });
  reader.section("read_back_bit",
                 [&](TomlReader& part) { actuator.read_back_bit = read_bit(part, scope); });
  if (actuator.read_back && actuator.read_back_bit)
    reader.complain("read_back_bit", "either read_back or read_back_bit, not both");
}

ActuatorDefinition read_actuator(TomlReader& reader, const RegisterScope& scope) {
  ActuatorDefinition actuator;
  const std::string unit = reader.word<const char*>("id", kActuators);
  if (reader.sound("id")) actuator.id = reader.text("id");
  expect_actuator_unit(reader, unit);
  actuator.device = read_device(reader, scope);
  actuator.address = static_cast<std::uint16_t>(reader.integer("address", 0, 65535));
  read_range(reader, actuator);
  read_read_back(reader, scope, actuator);
  actuator.follow_within = reader.milliseconds_or("follow_within_ms", actuator.follow_within);
  if (actuator.id == "motor_relay" && actuator.safe_si != 0.0)
    reader.complain("safe_si", "0 for the motor relay: safe is off");
  return actuator;
}

ReceiverDefinition read_receiver(TomlReader& reader) {
  ReceiverDefinition receiver;
  receiver.name = reader.text("name");
  receiver.actuator_value = reader.number_or("actuator_value", 0, kNotNegative);
  receiver.volume_m3 = reader.number("volume_m3", {.min = 0, .max = 1, .min_excluded = true});
  return receiver;
}

}  // namespace

std::vector<ActuatorDefinition> read_actuators(TomlReader& root, const RegisterScope& scope) {
  std::vector<ActuatorDefinition> actuators;
  UniqueIds ids;
  root.each("actuator", [&](TomlReader& reader) {
    actuators.push_back(read_actuator(reader, scope));
    ids.expect_new(reader, "id", actuators.back().id);
  });
  return actuators;
}

std::vector<ReceiverDefinition> read_receivers(TomlReader& root) {
  std::vector<ReceiverDefinition> receivers;
  UniqueIds names;
  const std::size_t count = root.each("receiver", [&](TomlReader& reader) {
    receivers.push_back(read_receiver(reader));
    names.expect_new(reader, "name", receivers.back().name);
  });
  if (count == 0) root.complain("receiver", "at least one [[receiver]]");
  return receivers;
}

InterlockDefinition read_interlocks(TomlReader& root, const RegisterScope& scope) {
  InterlockDefinition interlocks;
  const auto read_into = [&](TomlReader& part, std::string_view key,
                             std::optional<BitSource>& bit) {
    part.section(key, [&](TomlReader& entry) { bit = read_bit(entry, scope); });
  };
  root.section("interlocks", [&](TomlReader& part) {
    read_into(part, "cover_closed", interlocks.cover_closed);
    read_into(part, "emergency_stop_clear", interlocks.emergency_stop_clear);
    read_into(part, "motor_relay_closed", interlocks.motor_relay_closed);
    read_into(part, "lease_live", interlocks.lease_live);
    read_into(part, "relay_latched_open", interlocks.relay_latched_open);
  });
  return interlocks;
}

std::optional<LeaseDefinition> read_lease(TomlReader& root) {
  std::optional<LeaseDefinition> lease;
  root.section("lease", [&](TomlReader& part) {
    lease.emplace();
    lease->actuator = part.text_or("actuator", lease->actuator);
    lease->period = part.milliseconds_or("period_ms", lease->period);
    lease->lapses_after = part.milliseconds_or("lapses_after_ms", lease->lapses_after);
    if (lease->period * 2 > lease->lapses_after)
      part.complain("period_ms", "at most half of lapses_after_ms: one lost write must not trip");
  });
  return lease;
}

}  // namespace endgate::daemon
