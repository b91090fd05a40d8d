#include "schema/trace.h"

#include <zstd.h>

#include <algorithm>
#include <array>
#include <span>

#include "schema/bit_shuffle.h"
#include "schema/put_number.h"
#include "schema/store_fault.h"

// Format 1 at rest:
//
//   format u16 | size u64 of what follows when unpacked | one zstd frame
//
// Unpacked:
//
//   columns u32, then for each column
//     length u32 and name | raw_kind u8 | count u32 | times u32 | streams
//       times = 0: a stream of times, then raw, then quality
//       times = k + 1: the times are those of column k; raw, then quality
//   length u32 and the marks

namespace endgate::schema {
namespace {

constexpr std::uint16_t kTraceFormat = 1;
constexpr std::size_t kHeadSize = 10;
constexpr std::uint64_t kMostBytes = std::uint64_t{1} << 30;
constexpr int kLevel = 9;  // 2 % smaller than 3 for a tenth more time

[[noreturn]] void damaged(const std::string& what) {
  throw StoreFault(StoreFault::Kind::damaged, "trace: " + what);
}

std::span<const std::uint8_t> take(std::span<const std::uint8_t>& in, std::size_t count) {
  if (count > in.size()) damaged("ends too early");
  const auto taken = in.first(count);
  in = in.subspan(count);
  return taken;
}

std::uint64_t take_number(std::span<const std::uint8_t>& in, std::size_t width) {
  std::uint64_t value = 0;
  for (const std::uint8_t byte : take(in, width)) value = value << 8 | byte;
  return value;
}

std::size_t take_size(std::span<const std::uint8_t>& in) {
  return static_cast<std::size_t>(take_number(in, 4));
}

// 0: the column brings its own times; k + 1: they are those of column k.
std::size_t times_from(const std::vector<TraceColumn>& columns, std::size_t which) {
  for (std::size_t k = 0; k < which; ++k)
    if (columns[k].time_us == columns[which].time_us) return k + 1;
  return 0;
}

void put_column(Bytes& out, const std::vector<TraceColumn>& columns, std::size_t which) {
  const TraceColumn& column = columns[which];
  put_number(out, column.channel.size(), 4);
  out.insert(out.end(), column.channel.begin(), column.channel.end());
  put_number(out, column.raw_kind, 1);
  put_number(out, column.time_us.size(), 4);
  const std::size_t times = times_from(columns, which);
  put_number(out, times, 4);
  if (times == 0) append_shuffled(out, column.time_us);
  append_shuffled(out, column.raw);
  append_shuffled(out, std::vector<std::int64_t>(column.quality.begin(), column.quality.end()));
}

std::vector<std::uint8_t> take_quality(std::span<const std::uint8_t>& in, std::size_t count) {
  std::vector<std::uint8_t> quality(count);
  const std::vector<std::int64_t> values = take_shuffled(in, count);
  for (std::size_t i = 0; i < count; ++i) {
    if (values[i] < 0 || values[i] > 255) damaged("a quality is not a byte");
    quality[i] = static_cast<std::uint8_t>(values[i]);
  }
  return quality;
}

void take_column(std::span<const std::uint8_t>& in, std::vector<TraceColumn>& columns) {
  TraceColumn column;
  const auto name = take(in, take_size(in));
  column.channel.assign(name.begin(), name.end());
  column.raw_kind = static_cast<std::uint8_t>(take_number(in, 1));
  const std::size_t count = take_size(in);
  if (count > kMostBytes / 8) damaged("a column is too long");
  const std::size_t times = take_size(in);
  if (times > columns.size()) damaged("times refer to a later column");
  if (times > 0 && columns[times - 1].time_us.size() != count) damaged("times of another length");
  column.time_us = times == 0 ? take_shuffled(in, count) : columns[times - 1].time_us;
  column.raw = take_shuffled(in, count);
  column.quality = take_quality(in, count);
  columns.push_back(std::move(column));
}

void refuse_uneven(const Trace& trace) {
  for (const TraceColumn& column : trace.columns)
    if (column.raw.size() != column.time_us.size() ||
        column.quality.size() != column.time_us.size())
      throw StoreFault(StoreFault::Kind::refused, "trace: times, raw and quality of channel " +
                                                      column.channel + " have different lengths");
}

Bytes unpacked(const Trace& trace) {
  Bytes out;
  put_number(out, trace.columns.size(), 4);
  for (std::size_t i = 0; i < trace.columns.size(); ++i) put_column(out, trace.columns, i);
  put_number(out, trace.marks.size(), 4);
  out.insert(out.end(), trace.marks.begin(), trace.marks.end());
  return out;
}

Bytes decompress(std::span<const std::uint8_t> frame, std::uint64_t size) {
  if (size > kMostBytes) damaged("claims to be larger than 1 GiB");
  Bytes plain(static_cast<std::size_t>(size));
  const std::size_t got = ZSTD_decompress(plain.data(), plain.size(), frame.data(), frame.size());
  if (ZSTD_isError(got) || got != plain.size()) damaged("does not decompress");
  return plain;
}

// As u64 each, handed over by the thousand: a call for every number takes as long as the hash.
void add_numbers(Sha256& sha, const std::vector<std::int64_t>& numbers) {
  std::array<std::uint8_t, 8192> bytes;
  std::size_t used = 0;
  for (const std::int64_t number : numbers) {
    const auto value = static_cast<std::uint64_t>(number);
    for (int shift = 56; shift >= 0; shift -= 8)
      bytes[used++] = static_cast<std::uint8_t>(value >> shift);
    if (used < bytes.size()) continue;
    sha.bytes(bytes);
    used = 0;
  }
  sha.bytes(std::span(bytes).first(used));
}

}  // namespace

Hash hash_of(const Trace& trace) {
  Sha256 sha;
  sha.u32(static_cast<std::uint32_t>(trace.columns.size()));
  for (const TraceColumn& column : trace.columns) {
    sha.u32(static_cast<std::uint32_t>(column.channel.size())).text(column.channel);
    sha.byte(column.raw_kind).u32(static_cast<std::uint32_t>(column.time_us.size()));
    add_numbers(sha, column.time_us);
    add_numbers(sha, column.raw);
    sha.bytes(column.quality);
  }
  return sha.u32(static_cast<std::uint32_t>(trace.marks.size())).bytes(trace.marks).done();
}

std::vector<std::uint8_t> encode(const Trace& trace) {
  refuse_uneven(trace);
  const Bytes plain = unpacked(trace);
  Bytes out;
  put_number(out, kTraceFormat, 2);
  put_number(out, plain.size(), 8);
  out.resize(kHeadSize + ZSTD_compressBound(plain.size()));
  const std::size_t size = ZSTD_compress(out.data() + kHeadSize, out.size() - kHeadSize,
                                         plain.data(), plain.size(), kLevel);
  if (ZSTD_isError(size)) throw std::bad_alloc();  // its only failure with room for the bound
  out.resize(kHeadSize + size);
  return out;
}

Trace decode(const std::vector<std::uint8_t>& bytes) {
  std::span<const std::uint8_t> rest(bytes);
  const std::uint64_t format = take_number(rest, 2);
  if (format != kTraceFormat)
    throw StoreFault(StoreFault::Kind::wrong_version,
                     "trace: format " + std::to_string(format) + ", this version reads 1");
  const std::uint64_t size = take_number(rest, 8);
  const Bytes plain = decompress(rest, size);

  std::span<const std::uint8_t> in(plain);
  Trace trace;
  for (std::size_t left = take_size(in); left > 0; --left) take_column(in, trace.columns);
  const auto marks = take(in, take_size(in));
  trace.marks.assign(marks.begin(), marks.end());
  if (!in.empty()) damaged("bytes follow the marks");
  return trace;
}

}  // namespace endgate::schema
