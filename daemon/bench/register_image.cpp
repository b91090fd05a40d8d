#include "daemon/bench/register_image.h"

#include <cassert>

namespace endgate::daemon {

void RegisterImage::put(const DeviceSpan& span, std::vector<std::uint16_t> words) {
  parts_.push_back({span, std::move(words)});
}

std::optional<std::uint16_t> RegisterImage::at(std::size_t device, int function,
                                               std::uint16_t address) const {
  for (const Part& part : parts_) {
    if (part.span.device != device || part.span.function != function) continue;
    if (address < part.span.address) continue;
    const std::size_t offset = static_cast<std::size_t>(address - part.span.address);
    if (offset < part.words.size()) return part.words[offset];
  }
  return std::nullopt;
}

std::optional<std::int64_t> RegisterImage::raw(std::size_t device,
                                               const RegisterSource& source) const {
  const auto first = at(device, source.function, source.address);
  if (!first) return std::nullopt;
  if (source.type == RegisterType::u16) return *first;
  if (source.type == RegisterType::i16) return static_cast<std::int16_t>(*first);
  const auto second = at(device, source.function, static_cast<std::uint16_t>(source.address + 1));
  if (!second) return std::nullopt;
  const bool high_first = source.word_order == WordOrder::high_first;
  const std::uint32_t high = high_first ? *first : *second;
  const std::uint32_t low = high_first ? *second : *first;
  const std::uint32_t both = high << 16 | low;
  if (source.type == RegisterType::i32) return static_cast<std::int32_t>(both);
  return both;
}

std::optional<bool> RegisterImage::bit(std::size_t device, const BitSource& source) const {
  const auto word = at(device, source.function, source.address);
  if (!word) return std::nullopt;
  return ((*word >> source.bit & 1) != 0) != source.inverted;
}

std::uint16_t registers_of(RegisterType type) {
  return type == RegisterType::u16 || type == RegisterType::i16 ? 1 : 2;
}

std::size_t device_index(const BenchDefinition& bench, const std::string& id) {
  for (std::size_t i = 0; i < bench.devices.size(); ++i)
    if (bench.devices[i].id == id) return i;
  assert(!"the loader refuses a source whose device is not listed");
  return 0;
}

}  // namespace endgate::daemon
