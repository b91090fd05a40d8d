#include "schema/bit_shuffle.h"

#include <algorithm>
#include <bit>

#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

std::uint64_t zig_zag(std::uint64_t difference) {
  return (difference << 1) ^ (difference >> 63 ? ~std::uint64_t{0} : 0);
}
std::uint64_t zag_zig(std::uint64_t coded) { return (coded >> 1) ^ (~(coded & 1) + 1); }

std::vector<std::uint64_t> deltas_of(std::span<const std::int64_t> values) {
  std::vector<std::uint64_t> coded;
  coded.reserve(values.size());
  std::uint64_t before = 0;
  for (const std::int64_t value : values) {
    const auto now = static_cast<std::uint64_t>(value);
    coded.push_back(zig_zag(now - before));
    before = now;
  }
  return coded;
}

std::size_t width_of(std::span<const std::uint64_t> coded) {
  std::uint64_t used = 0;
  for (const std::uint64_t value : coded) used |= value;
  return static_cast<std::size_t>(std::bit_width(used));
}

std::size_t plane_size(std::size_t count) { return count / 8 + (count % 8 ? 1 : 0); }

}  // namespace

void append_shuffled(Bytes& out, std::span<const std::int64_t> values) {
  const std::vector<std::uint64_t> coded = deltas_of(values);
  const std::size_t width = width_of(coded);
  out.push_back(static_cast<std::uint8_t>(width));
  const std::size_t plane = plane_size(coded.size());
  const std::size_t at = out.size();
  out.resize(at + width * plane);
  for (std::size_t i = 0; i < coded.size(); ++i)
    for (std::size_t bit = 0; bit < width; ++bit)
      out[at + bit * plane + i / 8] |= static_cast<std::uint8_t>((coded[i] >> bit & 1) << (i % 8));
}

std::vector<std::int64_t> take_shuffled(std::span<const std::uint8_t>& in, std::size_t count) {
  const std::size_t plane = plane_size(count);
  if (in.empty() || in[0] > 64 || in.size() - 1 < in[0] * plane)
    throw StoreFault(StoreFault::Kind::damaged, "a column of a trace ends too early");
  const std::size_t width = in[0];
  const auto planes = in.subspan(1, width * plane);
  in = in.subspan(1 + width * plane);

  std::vector<std::int64_t> values(count);
  std::uint64_t before = 0;
  for (std::size_t i = 0; i < count; ++i) {
    std::uint64_t coded = 0;
    for (std::size_t bit = 0; bit < width; ++bit)
      coded |= static_cast<std::uint64_t>(planes[bit * plane + i / 8] >> (i % 8) & 1) << bit;
    before += zag_zig(coded);
    values[i] = static_cast<std::int64_t>(before);
  }
  return values;
}

}  // namespace endgate::schema
