#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

void expect_known_link(TomlReader& reader, const std::string& link) {
  if (link != "modbus_tcp") reader.complain("link", "\"modbus_tcp\", found \"" + link + "\"");
}

DeviceDefinition read_device_definition(TomlReader& reader) {
  DeviceDefinition device;
  device.id = reader.text("id");
  device.link = reader.text_or("link", device.link);
  expect_known_link(reader, device.link);
  device.host = reader.text("host");
  device.port = static_cast<std::uint16_t>(reader.integer_or("port", device.port, 1, 65535));
  device.unit_id = static_cast<int>(reader.integer_or("unit_id", device.unit_id, 0, 255));
  device.transaction_deadline =
      reader.milliseconds_or("transaction_deadline_ms", device.transaction_deadline);
  device.reconnect_first = reader.milliseconds_or("reconnect_first_ms", device.reconnect_first);
  device.reconnect_last = reader.milliseconds_or("reconnect_last_ms", device.reconnect_last);
  if (device.reconnect_last < device.reconnect_first)
    reader.complain("reconnect_last_ms", "at least reconnect_first_ms");
  return device;
}

ClockDefinition read_clock_definition(TomlReader& reader, const RegisterScope& scope) {
  ClockDefinition clock;
  clock.counter = read_register(reader, scope);
  clock.tick_s = reader.number("tick_s", kAboveZero);
  clock.rate_min = reader.number_or("rate_min", clock.rate_min, kAboveZero);
  clock.rate_max = reader.number_or("rate_max", clock.rate_max, kAboveZero);
  clock.declared_rate = reader.number_or("declared_rate", clock.declared_rate, kAboveZero);
  if (clock.rate_max <= clock.rate_min) reader.complain("rate_max", "a number above rate_min");
  return clock;
}

}  // namespace

std::vector<DeviceDefinition> read_devices(TomlReader& root) {
  std::vector<DeviceDefinition> devices;
  UniqueIds ids;
  const std::size_t count = root.each("device", [&](TomlReader& reader) {
    devices.push_back(read_device_definition(reader));
    ids.expect_new(reader, "id", devices.back().id);
  });
  if (count == 0) root.complain("device", "at least one [[device]]");
  return devices;
}

RegisterScope scope_of(const std::vector<DeviceDefinition>& devices) {
  RegisterScope scope;
  for (const DeviceDefinition& device : devices) scope.devices.push_back(device.id);
  return scope;
}

std::optional<ClockDefinition> read_clock(TomlReader& root, const RegisterScope& scope) {
  std::optional<ClockDefinition> clock;
  root.section("clock", [&](TomlReader& reader) { clock = read_clock_definition(reader, scope); });
  return clock;
}

}  // namespace endgate::daemon
