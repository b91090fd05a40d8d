#include "daemon/definitions/read_register.h"

#include <algorithm>
#include <array>

#include "daemon/definitions/nearest_name.h"
#include "daemon/definitions/register_words.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<RegisterType>, 3> kColumnTypes{
    {{"i16", RegisterType::i16}, {"i32", RegisterType::i32}, {"f32", RegisterType::f32}}};

constexpr std::int64_t kLastAddress = 65535;

bool has_one_word(RegisterType type) {
  return type == RegisterType::u16 || type == RegisterType::i16;
}

std::uint16_t read_address(TomlReader& reader) {
  return static_cast<std::uint16_t>(reader.integer("address", 0, kLastAddress));
}

std::optional<int> read_unit_id(TomlReader& reader) {
  if (!reader.has("unit_id")) return std::nullopt;
  return static_cast<int>(reader.integer("unit_id", 0, 255));
}

// Two words in the wrong order give plausible nonsense, so the order is never guessed.
WordOrder read_word_order(TomlReader& reader, RegisterType type) {
  if (!has_one_word(type)) return reader.word<WordOrder>("word_order", kWordOrders);
  return reader.word_or<WordOrder>("word_order", WordOrder::high_first, kWordOrders);
}

}  // namespace

std::string read_device(TomlReader& reader, const RegisterScope& scope) {
  const std::string device =
      scope.device.empty() ? reader.text("device") : reader.text_or("device", scope.device);
  if (device.empty() || std::ranges::find(scope.devices, device) != scope.devices.end())
    return device;
  const std::string nearest = nearest_name(device, scope.devices);
  reader.complain("device", "the id of a [[device]] of this file, found \"" + device + "\"" +
                                (nearest.empty() ? "" : "; did you mean \"" + nearest + "\"?"));
  return device;
}

DeviceDefinition* device_in(const RegisterScope& scope, const std::string& id) {
  if (scope.definitions == nullptr) return nullptr;
  const auto found = std::ranges::find(*scope.definitions, id, &DeviceDefinition::id);
  return found == scope.definitions->end() ? nullptr : &*found;
}

namespace {

constexpr std::size_t kMostQueries = 1000;
constexpr std::string_view kNumber = "{number}";

void read_modbus_source(TomlReader& reader, RegisterSource& source) {
  source.unit_id = read_unit_id(reader);
  source.function = static_cast<int>(reader.integer("function", 3, 4));
  source.address = read_address(reader);
  source.type = reader.word<RegisterType>("type", kRegisterTypes);
  source.word_order = read_word_order(reader, source.type);
  source.no_value = reader.integers_or_none("no_value");
}

void read_query(TomlReader& reader, DeviceDefinition& device, RegisterSource& source) {
  QueryDefinition query{reader.text("query"), reader.text_or("answer", std::string(kNumber))};
  const std::size_t at = query.answer.find(kNumber);
  if (at == std::string::npos || query.answer.find(kNumber, at + 1) != std::string::npos)
    reader.complain("answer", "a pattern that holds {number} once");
  if (device.queries.size() == kMostQueries)
    return reader.complain("query", "at most 1000 queries of one device");
  source.type = RegisterType::f64;
  source.address = static_cast<std::uint16_t>(4 * device.queries.size());
  device.queries.push_back(std::move(query));
}

// One column, one place, however often it is named.
void read_recorded(TomlReader& reader, RecordingDefinition& recording, RegisterSource& source) {
  const std::string column = reader.text("column");
  const auto found = std::ranges::find(recording.columns, column);
  source.type = RegisterType::f64;
  source.address = static_cast<std::uint16_t>(4 * (found - recording.columns.begin()));
  if (found != recording.columns.end()) return;
  if (recording.columns.size() == kMostQueries)
    return reader.complain("column", "at most 1000 columns of one device");
  recording.columns.push_back(column);
}

void read_column(TomlReader& reader, RegisterSource& source) {
  source.column = static_cast<int>(reader.integer("column", 0, 31));
  source.type = reader.word<RegisterType>("type", kColumnTypes);
  source.no_value = reader.integers_or_none("no_value");
}

}  // namespace

RegisterSource read_register(TomlReader& reader, const RegisterScope& scope) {
  RegisterSource source;
  source.device = read_device(reader, scope);
  DeviceDefinition* device = device_in(scope, source.device);
  if (device != nullptr && is_scpi(device->link))
    read_query(reader, *device, source);
  else if (device != nullptr && brings_blocks(device->link))
    read_column(reader, source);
  else if (device != nullptr && device->link == LinkKind::recorded_run)
    read_recorded(reader, device->recording, source);
  else
    read_modbus_source(reader, source);
  return source;
}

BitSource read_bit(TomlReader& reader, const RegisterScope& scope) {
  BitSource source;
  source.device = read_device(reader, scope);
  const DeviceDefinition* device = device_in(scope, source.device);
  if (device != nullptr && !is_modbus(device->link))
    reader.complain("device", "a device with registers: a bit is read by Modbus only");
  source.unit_id = read_unit_id(reader);
  source.function = static_cast<int>(reader.integer("function", 1, 4));
  source.address = read_address(reader);
  if (source.function >= 3) source.bit = static_cast<int>(reader.integer("bit", 0, 15));
  source.inverted = reader.flag_or("inverted", false);
  return source;
}

}  // namespace endgate::daemon
