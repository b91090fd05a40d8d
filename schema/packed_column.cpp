#include "schema/packed_column.h"

#include <zstd.h>

#include <algorithm>
#include <bit>
#include <cstring>

#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

static_assert(std::endian::native == std::endian::little);

constexpr std::uint8_t kRuns = 1, kFixed = 2;
constexpr std::size_t kRunSize = 12, kRunsHead = 5, kFixedHead = 10;
constexpr int kTextLevel = 1;

[[noreturn]] void damaged() {
  throw StoreFault(StoreFault::Kind::damaged, "a packed column is not what was written");
}

template <class T>
void put_plain(Bytes& out, T value) {
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(&value);
  out.insert(out.end(), bytes, bytes + sizeof value);
}

template <class T>
[[nodiscard]] T take_plain(std::span<const std::uint8_t>& in) {
  if (in.size() < sizeof(T)) damaged();
  T value{};
  std::memcpy(&value, in.data(), sizeof value);
  in = in.subspan(sizeof value);
  return value;
}

std::size_t runs_in(std::span<const std::int64_t> values) {
  std::size_t runs = values.empty() ? 0 : 1;
  for (std::size_t i = 1; i < values.size(); ++i) runs += values[i] != values[i - 1] ? 1 : 0;
  return runs;
}

Bytes as_runs(std::span<const std::int64_t> values, std::size_t runs) {
  Bytes out{kRuns};
  put_plain(out, static_cast<std::uint32_t>(runs));
  for (std::size_t i = 0; i < values.size();) {
    const std::size_t first = i;
    while (i < values.size() && values[i] == values[first]) ++i;
    put_plain(out, values[first]);
    put_plain(out, static_cast<std::uint32_t>(i - first));
  }
  return out;
}

std::uint8_t width_for(std::uint64_t span) {
  if (span >> 8 == 0) return 1;
  if (span >> 16 == 0) return 2;
  return span >> 32 == 0 ? 4 : 8;
}

Bytes as_fixed(std::span<const std::int64_t> values, std::int64_t least, std::uint8_t width) {
  Bytes out{kFixed, width};
  put_plain(out, least);
  out.resize(kFixedHead + values.size() * width);
  std::uint8_t* to = out.data() + kFixedHead;
  for (const std::int64_t value : values) {
    const auto above = static_cast<std::uint64_t>(value) - static_cast<std::uint64_t>(least);
    std::memcpy(to, &above, width);
    to += width;
  }
  return out;
}

template <class Narrow>
void widen(std::span<const std::uint8_t> in, std::int64_t least, std::span<std::int64_t> out) {
  for (std::size_t i = 0; i < out.size(); ++i) {
    Narrow above{};
    std::memcpy(&above, in.data() + i * sizeof above, sizeof above);
    out[i] = static_cast<std::int64_t>(static_cast<std::uint64_t>(least) + above);
  }
}

void unpack_fixed(std::span<const std::uint8_t> in, std::span<std::int64_t> out) {
  const auto width = take_plain<std::uint8_t>(in);
  const auto least = take_plain<std::int64_t>(in);
  if (in.size() != out.size() * width) damaged();
  switch (width) {
    case 1:
      return widen<std::uint8_t>(in, least, out);
    case 2:
      return widen<std::uint16_t>(in, least, out);
    case 4:
      return widen<std::uint32_t>(in, least, out);
    case 8:
      return widen<std::uint64_t>(in, least, out);
    default:
      damaged();
  }
}

void unpack_runs(std::span<const std::uint8_t> in, std::span<std::int64_t> out) {
  const auto runs = take_plain<std::uint32_t>(in);
  if (in.size() != runs * kRunSize) damaged();
  while (!in.empty()) {
    const auto value = take_plain<std::int64_t>(in);
    const auto length = take_plain<std::uint32_t>(in);
    if (length > out.size()) damaged();
    std::fill_n(out.begin(), length, value);
    out = out.subspan(length);
  }
  if (!out.empty()) damaged();
}

}  // namespace

Bytes pack(std::span<const std::int64_t> values) {
  const auto [least, most] = std::ranges::minmax_element(values);
  const std::int64_t from = values.empty() ? 0 : *least;
  const std::uint8_t width =
      values.empty()
          ? 1
          : width_for(static_cast<std::uint64_t>(*most) - static_cast<std::uint64_t>(from));
  const std::size_t runs = runs_in(values);
  if (kRunsHead + runs * kRunSize <= kFixedHead + values.size() * width)
    return as_runs(values, runs);
  return as_fixed(values, width == 8 ? 0 : from, width);
}

Bytes pack(std::span<const double> values) {
  std::vector<std::int64_t> bits(values.size());
  std::memcpy(bits.data(), values.data(), values.size_bytes());
  return pack(bits);
}

Bytes pack(std::span<const std::string> texts) {
  Bytes plain;
  for (const std::string& text : texts) {
    put_plain(plain, static_cast<std::uint32_t>(text.size()));
    plain.insert(plain.end(), text.begin(), text.end());
  }
  Bytes out;
  put_plain(out, static_cast<std::uint64_t>(plain.size()));
  const std::size_t head = out.size();
  out.resize(head + ZSTD_compressBound(plain.size()));
  const std::size_t size =
      ZSTD_compress(out.data() + head, out.size() - head, plain.data(), plain.size(), kTextLevel);
  if (ZSTD_isError(size)) damaged();
  out.resize(head + size);
  return out;
}

void unpack(std::span<const std::uint8_t> bytes, std::span<std::int64_t> out) {
  const auto form = take_plain<std::uint8_t>(bytes);
  if (form == kRuns) return unpack_runs(bytes, out);
  if (form != kFixed) damaged();
  unpack_fixed(bytes, out);
}

void unpack(std::span<const std::uint8_t> bytes, std::span<double> out) {
  static_assert(sizeof(double) == sizeof(std::int64_t));
  // Values that do not repeat lie there as they are.
  if (bytes.size() == kFixedHead + out.size_bytes() && bytes[0] == kFixed && bytes[1] == 8) {
    std::memcpy(out.data(), bytes.data() + kFixedHead, out.size_bytes());
    return;
  }
  std::vector<std::int64_t> bits(out.size());
  unpack(bytes, std::span<std::int64_t>(bits));
  std::memcpy(out.data(), bits.data(), out.size_bytes());
}

std::vector<std::string> unpack_texts(std::span<const std::uint8_t> bytes, std::size_t count) {
  constexpr std::uint64_t kAtMost = std::uint64_t{1} << 30;
  const auto size = take_plain<std::uint64_t>(bytes);
  if (size > kAtMost) damaged();
  Bytes plain(size);
  if (ZSTD_decompress(plain.data(), plain.size(), bytes.data(), bytes.size()) != size) damaged();
  std::vector<std::string> texts(count);
  std::span<const std::uint8_t> left(plain);
  for (std::string& text : texts) {
    const auto length = take_plain<std::uint32_t>(left);
    if (length > left.size()) damaged();
    text.assign(left.begin(), left.begin() + length);
    left = left.subspan(length);
  }
  return texts;
}

}  // namespace endgate::schema
