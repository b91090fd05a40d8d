#include "daemon/definitions/read_register.h"

#include <algorithm>
#include <array>

#include "daemon/definitions/nearest_name.h"

namespace endgate::daemon {
namespace {

constexpr std::array<NamedValue<RegisterType>, 5> kTypes{{{"u16", RegisterType::u16},
                                                          {"i16", RegisterType::i16},
                                                          {"u32", RegisterType::u32},
                                                          {"i32", RegisterType::i32},
                                                          {"f32", RegisterType::f32}}};
constexpr std::array<NamedValue<WordOrder>, 2> kOrders{
    {{"high_first", WordOrder::high_first}, {"low_first", WordOrder::low_first}}};

constexpr std::int64_t kLastAddress = 65535;

bool has_two_words(RegisterType type) {
  return type == RegisterType::u32 || type == RegisterType::i32 || type == RegisterType::f32;
}

int read_function(TomlReader& reader) { return static_cast<int>(reader.integer("function", 3, 4)); }

std::uint16_t read_address(TomlReader& reader) {
  return static_cast<std::uint16_t>(reader.integer("address", 0, kLastAddress));
}

// Two words in the wrong order give plausible nonsense, so the order is never guessed.
WordOrder read_word_order(TomlReader& reader, RegisterType type) {
  if (has_two_words(type)) return reader.word<WordOrder>("word_order", kOrders);
  return reader.word_or<WordOrder>("word_order", WordOrder::high_first, kOrders);
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

RegisterSource read_register(TomlReader& reader, const RegisterScope& scope) {
  RegisterSource source;
  source.device = read_device(reader, scope);
  source.function = read_function(reader);
  source.address = read_address(reader);
  source.type = reader.word<RegisterType>("type", kTypes);
  source.word_order = read_word_order(reader, source.type);
  source.no_value = reader.integers_or_none("no_value");
  return source;
}

BitSource read_bit(TomlReader& reader, const RegisterScope& scope) {
  BitSource source;
  source.device = read_device(reader, scope);
  source.function = read_function(reader);
  source.address = read_address(reader);
  source.bit = static_cast<int>(reader.integer("bit", 0, 15));
  source.inverted = reader.flag_or("inverted", false);
  return source;
}

}  // namespace endgate::daemon
