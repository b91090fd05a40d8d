#include "daemon/definitions/origins.h"

#include <algorithm>
#include <array>

#include "daemon/definitions/number_range.h"

namespace endgate::daemon {
namespace {

constexpr std::array<const char*, 7> kLinkNames{"modbus_tcp",    "modbus_rtu",    "scpi_tcp",
                                                "scpi_serial",   "sample_stream", "recorded_run",
                                                "modbus_capture"};
constexpr std::array<const char*, 6> kTypeNames{"u16", "i16", "u32", "i32", "f32", "f64"};

template <class E, std::size_t n>
std::string word(const std::array<const char*, n>& words, E value) {
  return words[static_cast<std::size_t>(value)];
}

const DeviceDefinition& known_device(const BenchDefinition& bench, const std::string& id) {
  return *std::ranges::find(bench.devices, id, &DeviceDefinition::id);  // the loader checked it
}

std::string end_of(const DeviceDefinition& device) {
  if (is_serial(device.link)) return device.line.path + " at " + std::to_string(device.line.baud);
  if (device.link == LinkKind::recorded_run)
    return device.recording.file + " at rate " + plain_number(device.recording.rate);
  return device.host + ":" + std::to_string(device.port);
}

std::string connection(const DeviceDefinition& device) {
  return device.id + " (" + word(kLinkNames, device.link) + " " + end_of(device) + ")";
}

std::string unit(const std::optional<int>& unit_id) {
  return unit_id ? ", unit " + std::to_string(*unit_id) : std::string();
}

std::string order(RegisterType type, WordOrder order) {
  if (type == RegisterType::u16 || type == RegisterType::i16) return {};
  return order == WordOrder::high_first ? " high word first" : " low word first";
}

std::string place(const DeviceDefinition& device, const RegisterSource& source) {
  if (device.capture)
    return ", " + std::to_string(device.capture->count) + " samples from register " +
           std::to_string(device.capture->samples.address) + " on, " +
           word(kTypeNames, source.type) + ", at a trigger in register " +
           std::to_string(device.capture->trigger_address);
  if (source.column)
    return ", column " + std::to_string(*source.column) + ", " + word(kTypeNames, source.type);
  if (device.link == LinkKind::recorded_run)
    return ", column \"" + device.recording.columns[source.address / 4] + "\"";
  if (is_scpi(device.link)) {
    const QueryDefinition& query = device.queries[source.address / 4];
    return ", \"" + query.text + "\" answered by \"" + query.answer + "\"";
  }
  return unit(source.unit_id) + ", function " + std::to_string(source.function) + ", register " +
         std::to_string(source.address) + ", " + word(kTypeNames, source.type) +
         order(source.type, source.word_order);
}

std::string conversion(const RegisterSource& source) {
  if (source.conversion == Conversion::rate_of_count)
    return ", counts per second over " + plain_number(source.rate_over_s) + " s";
  return source.conversion == Conversion::inverse_of_period ? ", inverse of a period" : "";
}

std::string target(const DeviceDefinition& device, const ActuatorDefinition& actuator) {
  if (device.link == LinkKind::recorded_run)
    return ", which follows its column \"set_" + actuator.id + "\" if it has one";
  if (is_scpi(device.link)) return ", \"" + device.commands[actuator.address] + "\"";
  const std::string where = unit(actuator.unit_id);
  const std::string address = std::to_string(actuator.address);
  if (actuator.function == 5) return where + ", bit " + address;
  if (actuator.bit)
    return where + ", bit " + std::to_string(*actuator.bit) + " of register " + address;
  return where + ", register " + address + ", " + word(kTypeNames, actuator.type) +
         order(actuator.type, actuator.word_order);
}

}  // namespace

std::vector<std::string> origins_of(const BenchDefinition& bench) {
  std::vector<std::string> sentences;
  for (const ChannelDefinition& channel : bench.channels) {
    const DeviceDefinition& device = known_device(bench, channel.source.device);
    sentences.push_back(channel.facts.id + ": " + connection(device) +
                        place(device, channel.source) + conversion(channel.source) + "; every " +
                        plain_number(channel.facts.period_s) + " s");
  }
  if (bench.current_waveform) {
    const WaveformDefinition& waveform = *bench.current_waveform;
    const DeviceDefinition& device = known_device(bench, waveform.source.device);
    sentences.push_back(waveform.facts.id + ": " + connection(device) +
                        place(device, waveform.source) + "; two bursts of " +
                        plain_number(waveform.facts.burst_s) + " s in every hold");
  }
  return sentences;
}

std::vector<std::string> targets_of(const BenchDefinition& bench) {
  std::vector<std::string> sentences;
  for (const ActuatorDefinition& actuator : bench.actuators) {
    const DeviceDefinition& device = known_device(bench, actuator.device);
    sentences.push_back(actuator.id + ": " + connection(device) + target(device, actuator));
  }
  return sentences;
}

}  // namespace endgate::daemon
