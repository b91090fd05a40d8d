#include "daemon/bench/register_image.h"

#include <bit>
#include <cassert>
#include <utility>

namespace endgate::daemon {

void RegisterImage::put(const DeviceSpan& span, std::vector<std::uint16_t> words) {
  parts_.push_back({span, std::move(words)});
}

void RegisterImage::add(RegisterImage other) {
  for (Part& part : other.parts_) parts_.push_back(std::move(part));
}

std::optional<std::uint16_t> RegisterImage::at(std::size_t device, int function,
                                               std::uint16_t address,
                                               std::optional<int> unit_id) const {
  for (const Part& part : parts_) {
    if (part.span.device != device || part.span.function != function) continue;
    if (part.span.unit_id != unit_id || address < part.span.address) continue;
    const std::size_t offset = static_cast<std::size_t>(address - part.span.address);
    if (offset < part.words.size()) return part.words[offset];
  }
  return std::nullopt;
}

std::optional<std::int64_t> RegisterImage::raw(std::size_t device,
                                               const RegisterSource& source) const {
  const int count = registers_of(source.type);
  std::uint64_t bits = 0;
  for (int i = 0; i < count; ++i) {
    const int place = source.word_order == WordOrder::high_first ? i : count - 1 - i;
    const auto word = at(device, source.function,
                         static_cast<std::uint16_t>(source.address + place), source.unit_id);
    if (!word) return std::nullopt;
    bits = bits << 16 | *word;
  }
  switch (source.type) {
    case RegisterType::i16:
      return static_cast<std::int16_t>(bits);
    case RegisterType::i32:
      return static_cast<std::int32_t>(bits);
    default:
      return static_cast<std::int64_t>(bits);
  }
}

std::optional<bool> RegisterImage::bit(std::size_t device, const BitSource& source) const {
  const auto word = at(device, source.function, source.address, source.unit_id);
  if (!word) return std::nullopt;
  return ((*word >> source.bit & 1) != 0) != source.inverted;
}

std::uint16_t registers_of(RegisterType type) {
  if (type == RegisterType::u16 || type == RegisterType::i16) return 1;
  return type == RegisterType::f64 ? 4 : 2;
}

double number_of(RegisterType type, std::int64_t raw) {
  if (type == RegisterType::f64) return std::bit_cast<double>(raw);
  if (type != RegisterType::f32) return static_cast<double>(raw);
  return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
}

std::size_t device_index(const BenchDefinition& bench, const std::string& id) {
  for (std::size_t i = 0; i < bench.devices.size(); ++i)
    if (bench.devices[i].id == id) return i;
  assert(!"the loader refuses a source whose device is not listed");
  return 0;
}

}  // namespace endgate::daemon
