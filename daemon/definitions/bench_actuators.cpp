#include <algorithm>
#include <array>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/register_words.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

// Names the sequence knows, each with the SI unit its value is in ("" for on/off and words).
constexpr std::array<NamedValue<const char*>, 11> kActuators{{{"motor_relay", ""},
                                                              {"clamp", ""},
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

double largest_count(const ActuatorDefinition& actuator) {
  if (actuator.function == 5 || actuator.bit) return 1;
  switch (actuator.type) {
    case RegisterType::u16:
      return 65535;
    case RegisterType::i16:
      return 32767;
    case RegisterType::u32:
      return 4294967295.0;
    case RegisterType::i32:
      return 2147483647;
    case RegisterType::f32:
      return 3.4e38;
    case RegisterType::f64:
      break;
  }
  return 1.7e308;
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
  const double largest = largest_count(actuator);
  if (actuator.max_si / actuator.scale > largest)
    reader.complain("max_si", "a value that fits " + plain_number(largest) + " counts of scale_si");
}

void read_fixed_words(TomlReader& reader, ActuatorDefinition& actuator) {
  for (const std::int64_t word : reader.integers_or_none("followed_by"))
    if (word < 0 || word > 65535)
      reader.complain("followed_by", "words from 0 to 65535");
    else
      actuator.followed_by.push_back(static_cast<std::uint16_t>(word));
}

// A bit alone (function 5), a bit of a register (22), or a number in one register or several.
void read_register_target(TomlReader& reader, ActuatorDefinition& actuator) {
  actuator.address = static_cast<std::uint16_t>(reader.integer("address", 0, 65535));
  if (reader.has("unit_id")) actuator.unit_id = static_cast<int>(reader.integer("unit_id", 0, 255));
  if (reader.has("function"))
    actuator.function = static_cast<int>(reader.integer("function", 5, 16));
  if (reader.has("bit")) actuator.bit = static_cast<int>(reader.integer("bit", 0, 15));
  actuator.type = reader.word_or<RegisterType>("type", actuator.type, kRegisterTypes);
  const bool one_word = actuator.type == RegisterType::u16 || actuator.type == RegisterType::i16;
  actuator.word_order =
      one_word ? reader.word_or<WordOrder>("word_order", actuator.word_order, kWordOrders)
               : reader.word<WordOrder>("word_order", kWordOrders);
  read_fixed_words(reader, actuator);
  const bool is_number = reader.has("type") || !actuator.followed_by.empty();
  if (is_number && (actuator.bit || actuator.function == 5))
    reader.complain("type", "no type: a single bit is written");
  if (reader.sound("function") && actuator.function != 5 && actuator.function != 6 &&
      actuator.function != 16)
    reader.complain("function", "5, 6 or 16");
  if (actuator.function == 6 && (!one_word || !actuator.followed_by.empty()))
    reader.complain("function", "16: several registers are written");
}

void read_command(TomlReader& reader, DeviceDefinition& device, ActuatorDefinition& actuator) {
  const std::string command = reader.text("command");
  if (command.find("{value}") == std::string::npos)
    reader.complain("command", "a text with {value} where the number stands");
  actuator.type = RegisterType::f64;
  actuator.function = 16;
  actuator.address = static_cast<std::uint16_t>(device.commands.size());
  device.commands.push_back(command);
}

// What was commanded stands in the run under the actuator's own name, if it stands there at all.
void read_recorded_command(DeviceDefinition& device, ActuatorDefinition& actuator) {
  actuator.type = RegisterType::f64;
  actuator.function = 16;
  actuator.address = static_cast<std::uint16_t>(device.commands.size());
  device.commands.push_back(actuator.id);
}

// The owner word is read and written as it stands, a register by itself.
void expect_whole_register(TomlReader& reader, const ActuatorDefinition& owner) {
  const bool one_register =
      owner.type == RegisterType::u16 || owner.type == RegisterType::i16 || !reader.sound("type");
  if (owner.bit || owner.function == 5 || !one_register || !owner.followed_by.empty())
    reader.complain("id", "one whole register for \"owner\": no bit, no number of several");
}

void read_target(TomlReader& reader, const RegisterScope& scope, ActuatorDefinition& actuator) {
  actuator.device = read_device(reader, scope);
  DeviceDefinition* device = device_in(scope, actuator.device);
  if (device != nullptr && brings_blocks(device->link))
    reader.complain("device", "a device that takes commands; a sample stream takes none");
  else if (device != nullptr && device->link == LinkKind::recorded_run)
    read_recorded_command(*device, actuator);
  else if (device == nullptr || !is_scpi(device->link))
    read_register_target(reader, actuator);
  else
    read_command(reader, *device, actuator);
  if (device != nullptr && !is_modbus(device->link) &&
      (actuator.id == "owner" || actuator.id == "lease"))
    reader.complain("device", "a device with registers for \"" + actuator.id + "\"");
  if (actuator.id == "owner") expect_whole_register(reader, actuator);
}

bool is_float(RegisterType type) { return type == RegisterType::f32 || type == RegisterType::f64; }

// How near the read-back must come.  Counts agree to one and a half; floats have no counts.
void read_tolerance(TomlReader& reader, ActuatorDefinition& actuator) {
  actuator.follow_tolerance_si = reader.maybe_number("follow_tolerance_si", kAboveZero);
  const bool has_no_counts =
      is_float(actuator.type) || (actuator.read_back && is_float(actuator.read_back->type));
  if (actuator.read_back && has_no_counts && !actuator.follow_tolerance_si &&
      !reader.has("follow_tolerance_si"))
    reader.complain("follow_tolerance_si", "a number: how near the read-back must come");
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
  read_target(reader, scope, actuator);
  read_range(reader, actuator);
  read_read_back(reader, scope, actuator);
  read_tolerance(reader, actuator);
  actuator.follow_within = reader.milliseconds_or("follow_within_ms", actuator.follow_within);
  if (actuator.id == "clamp" && actuator.safe_si)
    reader.complain("safe_si", "no safe value: a clamp opens only after vent and rest");
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
    read_into(part, "fixture_clamped", interlocks.fixture_clamped);
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
