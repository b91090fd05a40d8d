#include <algorithm>
#include <filesystem>
#include <tuple>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/load_text.h"
#include "daemon/definitions/read_over_limit.h"

namespace endgate::daemon {
namespace {

bool has_role(const BenchDefinition& bench, analysis::Role role) {
  return std::ranges::any_of(
      bench.channels, [&](const ChannelDefinition& channel) { return channel.facts.role == role; });
}

void expect_channel(TomlReader& root, const BenchDefinition& bench, const OverLimit& limit,
                    analysis::Role role) {
  if (has_role(bench, role)) return;
  root.complain("over_limit", "a channel with role " + std::string(analysis::name_of(role)) +
                                  " for over-limit \"" + limit.id + "\"");
}

void check_over_limits(TomlReader& root, const BenchDefinition& bench) {
  for (const OverLimit& limit : bench.over_limits) {
    expect_channel(root, bench, limit, limit.role);
    if (limit.confirm_role) expect_channel(root, bench, limit, *limit.confirm_role);
  }
}

// The meter's litre has no meaning without the state it is defined at.
void read_meter_reference(TomlReader& root, BenchDefinition& bench) {
  bench.meter_reference_temperature_k =
      root.number("meter_reference_temperature_k", {.min = 250, .max = 320});
  bench.meter_reference_pressure_pa =
      root.number("meter_reference_pressure_pa", {.min = 50000, .max = 150000});
}

void check_waveform_id(TomlReader& root, const BenchDefinition& bench) {
  for (const ChannelDefinition& channel : bench.channels)
    if (bench.current_waveform && channel.facts.id == bench.current_waveform->facts.id)
      root.complain("current_waveform",
                    "an id that no channel has, found \"" + channel.facts.id + "\" again");
}

// A copied block whose address was forgotten gives two roles one number.
void check_sources(TomlReader& root, const BenchDefinition& bench) {
  const auto place = [](const ChannelDefinition& channel) {
    const RegisterSource& source = channel.source;
    return std::tuple(source.device, source.function, source.unit_id, source.address,
                      source.column);
  };
  for (auto each = bench.channels.begin(); each != bench.channels.end(); ++each) {
    const auto same = std::ranges::find(bench.channels.begin(), each, place(*each), place);
    if (same != each)
      root.complain("channel", "a source of its own for each; \"" + each->facts.id +
                                   "\" reads what \"" + same->facts.id + "\" reads");
  }
}

bool has_actuator(const BenchDefinition& bench, const std::string& id) {
  return std::ranges::find(bench.actuators, id, &ActuatorDefinition::id) != bench.actuators.end();
}

void check_actuators(TomlReader& root, const BenchDefinition& bench) {
  if (!has_actuator(bench, "motor_relay"))
    root.complain("actuator", "an actuator \"motor_relay\": without it no test can be run");
  if (bench.lease && !has_actuator(bench, bench.lease->actuator))
    root.complain("lease", "the actuator \"" + bench.lease->actuator + "\" that it is written to");
  if (bench.owner_word != 0 && !has_actuator(bench, "owner"))
    root.complain("owner_word", "an actuator \"owner\" to write it to");
  if (has_actuator(bench, "clamp") && !bench.interlocks.fixture_clamped)
    root.complain("interlocks",
                  "fixture_clamped: the motor starts only when the clamp is read back closed");
  if (bench.receivers.size() > 1 && !has_actuator(bench, "receiver"))
    root.complain("receiver", "an actuator \"receiver\" that chooses between them");
}

const DeviceDefinition* device_of(const BenchDefinition& bench, const std::string& id) {
  const auto found = std::ranges::find(bench.devices, id, &DeviceDefinition::id);
  return found == bench.devices.end() ? nullptr : &*found;
}

// Bench time and motor relay are asked in every round, and the owner word has a deadline of its own,
// so the round waits for their devices.
void set_paces(TomlReader& root, BenchDefinition& bench) {
  const auto in_step = [&](const std::string& id) {
    for (DeviceDefinition& device : bench.devices)
      if (device.id == id) device.own_pace = false;
  };
  if (bench.clock) in_step(bench.clock->counter.device);
  for (const ActuatorDefinition& actuator : bench.actuators)
    if (actuator.id == "motor_relay" || actuator.id == "owner") in_step(actuator.device);
  const auto slow_lock = [&](const std::optional<BitSource>& bit) {
    const DeviceDefinition* device = bit ? device_of(bench, bit->device) : nullptr;
    return device != nullptr && device->own_pace;
  };
  const InterlockDefinition& locks = bench.interlocks;
  if (slow_lock(locks.cover_closed) || slow_lock(locks.emergency_stop_clear) ||
      slow_lock(locks.motor_relay_closed))
    root.complain("interlocks", "devices without own_pace: the round must wait for them");
}

// What a recording commands must not be a real motor, what it tells no measurement.
void check_recording(TomlReader& root, const BenchDefinition& bench) {
  const DeviceDefinition& first = bench.devices.front();
  if (std::ranges::none_of(bench.devices, [](const DeviceDefinition& device) {
        return device.link == LinkKind::recorded_run;
      }))
    return;
  if (bench.devices.size() > 1)
    root.complain("device", "a recorded run alone: what it tells must command nothing real");
  if (!bench.simulated)
    root.complain("simulated", "true: a recorded run that is played again is no measurement");
  if (first.recording.rate != 1 && !bench.clock)
    root.complain("clock", "the time of the run, [clock] device = \"" + first.id +
                               "\": it does not run as this machine's does");
}

// Its samples have gaps between the captures, which a channel may not have.
void check_captures(TomlReader& root, const BenchDefinition& bench) {
  for (const ChannelDefinition& channel : bench.channels) {
    const DeviceDefinition* device = device_of(bench, channel.source.device);
    if (device != nullptr && device->capture)
      root.complain("channel", "another device for \"" + channel.facts.id +
                                   "\": what is captured at a trigger has gaps");
  }
}

// As data_directory: relative to the file that names it.
void find_recordings(BenchDefinition& bench, const std::filesystem::path& bench_file) {
  for (DeviceDefinition& device : bench.devices)
    if (device.link == LinkKind::recorded_run)
      device.recording.file =
          (bench_file.parent_path() / device.recording.file).lexically_normal().generic_string();
}

void read_bench(TomlReader& root, BenchDefinition& bench) {
  bench.id = root.text("id");
  bench.name = root.text("name");
  bench.simulated = root.flag_or("simulated", false);
  bench.owner_word = static_cast<std::uint16_t>(root.integer_or("owner_word", 0, 0, 65535));
  bench.motor_current_flows_a =
      root.number_or("motor_current_flows_a", kMotorCurrentFlows_a, {.min = 0.05, .max = 5});
  bench.supply_voltages_v = root.numbers("supply_voltages_v", kAboveZero);
  bench.seal_volume_m3 = root.number("seal_volume_m3", {.min = 0, .max = 1});
  read_meter_reference(root, bench);
  bench.devices = read_devices(root);
  const RegisterScope scope = scope_of(bench.devices);
  bench.clock = read_clock(root, scope);
  bench.current_waveform = read_current_waveform(root, scope);
  bench.channels = read_channels(root, scope, !bench.current_waveform);
  check_waveform_id(root, bench);
  check_sources(root, bench);
  bench.actuators = read_actuators(root, scope);
  bench.receivers = read_receivers(root);
  bench.interlocks = read_interlocks(root, scope);
  bench.lease = read_lease(root);
  bench.over_limits = read_over_limits(root);
  bench.reference_units = read_reference_units(root);
  bench.due_checks = read_due_checks(root);
  bench.wear_parts = read_wear_parts(root);
  check_over_limits(root, bench);
  check_actuators(root, bench);
  if (!bench.devices.empty()) check_recording(root, bench);
  check_captures(root, bench);
  set_paces(root, bench);
}

}  // namespace

Loaded<BenchDefinition> load_bench(std::string_view text, const std::string& file) {
  auto loaded = load_text<BenchDefinition>(text, file, DefinitionKind::bench, read_bench);
  if (auto* bench = std::get_if<BenchDefinition>(&loaded)) find_recordings(*bench, file);
  return loaded;
}

}  // namespace endgate::daemon
