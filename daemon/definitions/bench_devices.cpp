#include <array>

#include "daemon/definitions/bench_parts.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<LinkKind>, 7> kLinks{
    {{"modbus_tcp", LinkKind::modbus_tcp},
     {"modbus_rtu", LinkKind::modbus_rtu},
     {"scpi_tcp", LinkKind::scpi_tcp},
     {"scpi_serial", LinkKind::scpi_serial},
     {"sample_stream", LinkKind::sample_stream},
     {"recorded_run", LinkKind::recorded_run},
     {"modbus_capture", LinkKind::modbus_capture}}};
constexpr std::array<NamedValue<LineParity>, 3> kParities{
    {{"even", LineParity::even}, {"odd", LineParity::odd}, {"none", LineParity::none}}};
constexpr std::array<NamedValue<const char*>, 3> kTerminators{
    {{"lf", "\n"}, {"crlf", "\r\n"}, {"cr", "\r"}}};

constexpr std::uint16_t kModbusPort = 502, kScpiPort = 5025;

bool is_ipv6(const std::string& host) {
  return host.find(':') != std::string::npos &&
         host.find_first_not_of("0123456789abcdefABCDEF:.%") == std::string::npos;
}

void read_socket(TomlReader& reader, DeviceDefinition& device) {
  device.host = reader.text("host");
  if (device.host.find_first_of(" \t/:") != std::string::npos && !is_ipv6(device.host))
    reader.complain("host", "a host name or an address, found \"" + device.host + "\"");
  if (device.link == LinkKind::sample_stream)
    device.port = static_cast<std::uint16_t>(reader.integer("port", 1, 65535));
  else
    device.port = static_cast<std::uint16_t>(
        reader.integer_or("port", is_scpi(device.link) ? kScpiPort : kModbusPort, 1, 65535));
}

// The defaults are those of the serial Modbus specification; instruments have none in common.
void read_line(TomlReader& reader, DeviceDefinition& device) {
  SerialLineDefinition& line = device.line;
  line.path = reader.text("path");
  line.baud = static_cast<unsigned>(reader.integer("baud", 1200, 4'000'000));
  line.parity = reader.word<LineParity>("parity", kParities);
  line.stop_bits = static_cast<int>(reader.integer_or("stop_bits", line.stop_bits, 1, 2));
}

void read_recording(TomlReader& reader, DeviceDefinition& device) {
  constexpr NumberRange kRates{.min = 0.1, .max = 100};
  device.recording.file = reader.text("file");
  device.recording.rate = reader.number_or("rate", device.recording.rate, kRates);
}

void read_talk(TomlReader& reader, DeviceDefinition& device) {
  device.terminator = reader.word_or<const char*>("terminator", "\n", kTerminators);
  if (reader.has("on_open")) device.on_open = reader.texts("on_open");
  if (reader.flag_or("no_error_query", false))
    device.error_query.clear();
  else
    device.error_query = reader.text_or("error_query", device.error_query);
  device.join_queries = reader.flag_or("join_queries", false);
}

void read_times(TomlReader& reader, DeviceDefinition& device) {
  device.transaction_deadline =
      reader.milliseconds_or("transaction_deadline_ms", device.transaction_deadline);
  device.reconnect_first = reader.milliseconds_or("reconnect_first_ms", device.reconnect_first);
  device.reconnect_last = reader.milliseconds_or("reconnect_last_ms", device.reconnect_last);
  if (device.reconnect_last < device.reconnect_first)
    reader.complain("reconnect_last_ms", "at least reconnect_first_ms");
}

void read_own_time(TomlReader& reader, DeviceDefinition& device) {
  reader.section("time", [&](TomlReader& part) {
    RegisterScope scope;
    scope.devices = {device.id};
    scope.device = device.id;
    device.time.emplace();
    device.time->counter = read_register(part, scope);
    device.time->tick_s = part.number("tick_s", kAboveZero);
  });
}

// At least the four registers of the longest number.
void read_request_limits(TomlReader& reader, DeviceDefinition& device) {
  device.largest_gap =
      static_cast<std::uint16_t>(reader.integer_or("largest_gap", device.largest_gap, 0, 125));
  device.most_registers = static_cast<std::uint16_t>(
      reader.integer_or("most_registers", device.most_registers, 4, 125));
}

DeviceDefinition read_device_definition(TomlReader& reader) {
  DeviceDefinition device;
  device.id = reader.text("id");
  device.link = reader.word_or<LinkKind>("link", device.link, kLinks);
  if (is_serial(device.link))
    read_line(reader, device);
  else if (device.link == LinkKind::recorded_run)
    read_recording(reader, device);
  else
    read_socket(reader, device);
  if (device.link == LinkKind::modbus_capture) {
    device.unit_id = static_cast<int>(reader.integer_or("unit_id", device.unit_id, 0, 255));
    device.capture = read_capture(reader);
  }
  if (is_modbus(device.link)) {
    device.unit_id = static_cast<int>(reader.integer_or("unit_id", device.unit_id, 0, 255));
    read_request_limits(reader, device);
    read_own_time(reader, device);
  }
  if (is_scpi(device.link)) read_talk(reader, device);
  read_times(reader, device);
  device.own_pace = reader.flag_or("own_pace", is_scpi(device.link));
  return device;
}

// A stream and a recorded run count microseconds by themselves.
RegisterSource own_counter(const DeviceDefinition& device) {
  RegisterSource counter;
  counter.device = device.id;
  counter.function = device.link == LinkKind::recorded_run ? 3 : 4;
  counter.address = device.link == LinkKind::recorded_run ? 0 : 2;
  counter.type = RegisterType::u32;
  return counter;
}

// Every other counter is a register.
RegisterSource read_counter(TomlReader& reader, const RegisterScope& scope, double& tick_s) {
  const std::string id = reader.has("device") ? read_device(reader, scope) : std::string();
  const DeviceDefinition* device = device_in(scope, id);
  if (device == nullptr || !counts_by_itself(device->link)) {
    RegisterSource counter = read_register(reader, scope);
    tick_s = reader.number("tick_s", kAboveZero);
    const LinkKind link = device == nullptr ? LinkKind::modbus_tcp : device->link;
    if (is_scpi(link) || link == LinkKind::modbus_capture)
      reader.complain("device", "a device with a counter register or a sample stream");
    return counter;
  }
  tick_s = 1e-6;
  return own_counter(*device);
}

ClockDefinition read_clock_definition(TomlReader& reader, const RegisterScope& scope) {
  ClockDefinition clock;
  clock.counter = read_counter(reader, scope, clock.tick_s);
  const DeviceDefinition* device = device_in(scope, clock.counter.device);
  const bool recorded = device != nullptr && device->link == LinkKind::recorded_run;
  if (recorded) clock.rate_min = 0.1;  // a busy machine plays slower
  clock.rate_min = reader.number_or("rate_min", clock.rate_min, kAboveZero);
  clock.rate_max = reader.number_or("rate_max", clock.rate_max, kAboveZero);
  if (recorded)
    clock.declared_rate = device->recording.rate;  // stated once, there
  else
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

RegisterScope scope_of(std::vector<DeviceDefinition>& devices) {
  RegisterScope scope;
  for (const DeviceDefinition& device : devices) scope.devices.push_back(device.id);
  scope.definitions = &devices;
  return scope;
}

std::optional<ClockDefinition> read_clock(TomlReader& root, const RegisterScope& scope) {
  std::optional<ClockDefinition> clock;
  root.section("clock", [&](TomlReader& reader) { clock = read_clock_definition(reader, scope); });
  return clock;
}

}  // namespace endgate::daemon
