// Which samples does this block of a stream hold?
//
// A device that samples faster than anyone could ask sends blocks over one TCP connection, unasked.
// Everything is little endian.
//
//   length            u32   bytes that follow, at most kLargestBlock
//   mark              u16   0x4253
//   version           u8    1
//   columns           u8    1 ... 32
//   sequence          u32   one more than the block before, from any start, wrapping
//   device time       u64   microseconds of the first sample, on the device's own clock
//   sample period     u32   nanoseconds, above 0
//   samples           u16   of each column, above 0
//   column types      u8 each: 0 = int16, 1 = int32, 2 = float32
//   data              column after column, each `samples` numbers
//
// Example: block 7, one int16 column with the samples 1, -2, 300 at 20 kHz from 1 s on:
//
//   1d 00 00 00 | 53 42 | 01 | 01 | 07 00 00 00 | 40 42 0f 00 00 00 00 00 | 50 c3 00 00 | 03 00 |
//   00 | 01 00 fe ff 2c 01
//
// The parser is incremental and holds one block at most.

#pragma once

#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <vector>

namespace endgate::daemon {

enum class SampleType : std::uint8_t { int16 = 0, int32 = 1, float32 = 2 };

struct SampleColumn {
  SampleType type = SampleType::int16;
  std::vector<std::int32_t> raw;  // the integer, or the bits of a float
};

// A float stays the bits it is.
[[nodiscard]] inline std::int64_t raw_of(const SampleColumn& column, std::size_t sample) {
  const std::int32_t raw = column.raw[sample];
  if (column.type != SampleType::float32) return raw;
  return static_cast<std::int64_t>(static_cast<std::uint32_t>(raw));
}

struct SampleBlock {
  std::uint32_t sequence = 0;
  std::int64_t first_us = 0;  // device time
  std::int64_t period_ns = 0;
  std::vector<SampleColumn> columns;  // of equal length
  [[nodiscard]] std::size_t samples() const { return columns.front().raw.size(); }
  [[nodiscard]] std::int64_t time_us(std::size_t sample) const {
    return first_us + static_cast<std::int64_t>(sample) * period_ns / 1000;
  }
  [[nodiscard]] std::int64_t last_us() const { return time_us(samples() - 1); }
};

class SampleBlockParser {
 public:
  static constexpr std::size_t kLargestBlock = 1u << 20;
  static constexpr std::size_t kMostColumns = 32;

  // Appends every block completed by these bytes.  False: not this format, `fault()` says why; the
  // parser is of no use any more.
  [[nodiscard]] bool feed(std::span<const std::uint8_t> bytes,
                          std::vector<std::shared_ptr<const SampleBlock>>& blocks);
  [[nodiscard]] const std::string& fault() const { return fault_; }

 private:
  [[nodiscard]] std::size_t wanted_bytes() const;
  [[nodiscard]] bool take_block(std::vector<std::shared_ptr<const SampleBlock>>& blocks);
  [[nodiscard]] bool header_is_wrong();

  std::vector<std::uint8_t> buffer_;
  std::string fault_;
};

}  // namespace endgate::daemon
