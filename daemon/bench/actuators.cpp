#include "daemon/bench/actuators.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <limits>

#include "daemon/bench/register_image.h"

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
         id == actuator::kClamp ||   // may only be opened while vented and at rest
         id == actuator::kReceiver;  // may only be moved while vented
}

}  // namespace

std::optional<std::size_t> find_actuator(const BenchDefinition& bench, std::string_view id) {
  for (std::size_t i = 0; i < bench.actuators.size(); ++i)
    if (bench.actuators[i].id == id) return i;
  return std::nullopt;
}

namespace {

std::vector<std::uint16_t> words_of(std::uint64_t bits, RegisterType type, WordOrder order) {
  std::vector<std::uint16_t> words;
  for (int i = registers_of(type); i-- > 0;)
    words.push_back(static_cast<std::uint16_t>(bits >> 16 * i & 0xffff));
  if (order == WordOrder::low_first) std::ranges::reverse(words);
  return words;
}

template <class T>
std::optional<std::uint64_t> whole(double counts) {
  const double rounded = std::round(counts);
  if (!(rounded >= static_cast<double>(std::numeric_limits<T>::min()) &&
        rounded <= static_cast<double>(std::numeric_limits<T>::max())))
    return std::nullopt;
  return static_cast<std::uint64_t>(static_cast<std::int64_t>(rounded));
}

std::optional<std::uint64_t> bits_of(RegisterType type, double counts) {
  switch (type) {
    case RegisterType::u16:
      return whole<std::uint16_t>(counts);
    case RegisterType::i16:
      return whole<std::int16_t>(counts);
    case RegisterType::u32:
      return whole<std::uint32_t>(counts);
    case RegisterType::i32:
      return whole<std::int32_t>(counts);
    case RegisterType::f32:
      return std::bit_cast<std::uint32_t>(static_cast<float>(counts));
    case RegisterType::f64:
      break;
  }
  return std::bit_cast<std::uint64_t>(counts);
}

std::optional<std::uint8_t> unit_of(const ActuatorDefinition& actuator) {
  if (!actuator.unit_id) return std::nullopt;
  return static_cast<std::uint8_t>(*actuator.unit_id);
}

RegisterWrite bit_write(const ActuatorDefinition& actuator, bool on) {
  if (!actuator.bit) return {actuator.address, {static_cast<std::uint16_t>(on ? 1 : 0)}, 5};
  const auto mask = static_cast<std::uint16_t>(1 << *actuator.bit);
  const auto others = static_cast<std::uint16_t>(~mask);
  return {actuator.address, {others, on ? mask : std::uint16_t{0}}, 22};
}

}  // namespace

std::optional<RegisterWrite> write_of(const ActuatorDefinition& actuator, double value_si) {
  if (!(value_si >= actuator.min_si && value_si <= actuator.max_si)) return std::nullopt;
  RegisterWrite write{actuator.address, {}, actuator.function};
  if (actuator.bit || actuator.function == 5) {
    write = bit_write(actuator, value_si >= 0.5);
  } else {
    const auto bits = bits_of(actuator.type, value_si / actuator.scale);
    if (!bits) return std::nullopt;
    write.values = words_of(*bits, actuator.type, actuator.word_order);
    write.values.insert(write.values.end(), actuator.followed_by.begin(),
                        actuator.followed_by.end());
  }
  write.unit = unit_of(actuator);
  return write;
}

RegisterSpan owner_span(const ActuatorDefinition& owner) {
  return {3, owner.address, 1, unit_of(owner)};
}

RegisterWrite owner_write(const ActuatorDefinition& owner, std::uint16_t word) {
  return {owner.address, {word}, owner.function, unit_of(owner)};
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
