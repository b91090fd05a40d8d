// The stream of the motor's current, as a client sees it.

#include <gtest/gtest.h>

#include "fixtures/bench/waveform_block.h"
#include "tests/simbench_server/loopback_bench.h"

namespace simbench {
namespace {

std::uint64_t number(const Bytes& bytes, std::size_t at, std::size_t size) {
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < size; ++i)
    value |= static_cast<std::uint64_t>(bytes[at + i]) << (8 * i);
  return value;
}

TEST(WaveformBlock, IsTheExampleOfItsDescription) {
  const std::vector<std::int16_t> counts{1, -2, 300};
  const Bytes expected{0x1d, 0, 0, 0,    0x53, 0x42, 1, 1, 7, 0, 0, 0, 0x40, 0x42, 0x0f, 0, 0,
                       0,    0, 0, 0x50, 0xc3, 0,    0, 3, 0, 0, 1, 0, 0xfe, 0xff, 0x2c, 1};
  EXPECT_EQ(bytes_of({7, 1'000'000, 50'000, counts}), expected);
}

TEST(WaveformServer, StreamsBlocksThatFollowOneAnother) {
  InstrumentsOptions options;
  options.waveform_hz = 20000;
  ServedBench bench(4, options);
  ASSERT_NE(bench.waveform_port(), 0);
  RawLink link(bench.waveform_port());
  std::optional<std::uint64_t> sequence, first_us;
  for (int block = 0; block < 20; ++block) {
    const Bytes length = link.receive(4);
    const Bytes rest = link.receive(number(length, 0, 4));
    EXPECT_EQ(number(rest, 0, 2), 0x4253u);
    EXPECT_EQ(number(rest, 16, 4), 50'000u);  // ns
    EXPECT_EQ(number(rest, 20, 2), 400u);     // samples
    EXPECT_EQ(number(rest, 4, 4), sequence.value_or(number(rest, 4, 4) - 1) + 1);
    EXPECT_EQ(number(rest, 8, 8), first_us.value_or(number(rest, 8, 8) - 20'000) + 20'000);
    sequence = number(rest, 4, 4);
    first_us = number(rest, 8, 8);
  }
}

TEST(WaveformServer, ABenchWithoutTheDeviceHasNoPortForIt) {
  EXPECT_EQ(ServedBench().waveform_port(), 0);
}

}  // namespace
}  // namespace simbench
