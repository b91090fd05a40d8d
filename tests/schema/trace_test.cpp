// The trace at rest: bit for bit, small, and sealed independently of how it is packed.

#include "schema/trace.h"

#include <gtest/gtest.h>

#include <limits>
#include <random>

#include "schema/bit_shuffle.h"
#include "tests/support/store_helpers.h"

namespace endgate::schema {
namespace {

using test::fault_of;
using test::made_trace;
using test::same;

std::int64_t any_number(std::mt19937_64& random) {
  constexpr std::int64_t least = std::numeric_limits<std::int64_t>::min();
  constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
  const std::int64_t special[] = {0, 1, -1, least, most, 0x7fff, -0x8000};
  if (random() % 4 == 0) return special[random() % 7];
  return static_cast<std::int64_t>(random() >> (random() % 64));
}

Trace any_trace(unsigned seed) {
  std::mt19937_64 random(seed);
  Trace trace;
  for (std::size_t c = random() % 5; c > 0; --c) {
    TraceColumn column;
    column.channel = "c" + std::to_string(random() % 1000);
    column.raw_kind = static_cast<std::uint8_t>(random() % 3);
    const std::size_t count = random() % 40;
    for (std::size_t i = 0; i < count; ++i) {
      column.time_us.push_back(any_number(random));
      column.raw.push_back(any_number(random));
      column.quality.push_back(static_cast<std::uint8_t>(random()));
    }
    if (!trace.columns.empty() && random() % 2 == 0 && trace.columns[0].time_us.size() == count)
      column.time_us = trace.columns[0].time_us;
    trace.columns.push_back(column);
  }
  for (std::size_t i = random() % 20; i > 0; --i)
    trace.marks.push_back(static_cast<std::uint8_t>(random()));
  return trace;
}

TEST(Trace, GivesBackAnyNumbersBitForBit) {
  for (unsigned seed = 0; seed < 2000; ++seed) {
    const Trace trace = any_trace(seed);
    const Trace back = decode(encode(trace));
    ASSERT_TRUE(same(back, trace)) << "seed " << seed;
    ASSERT_EQ(hash_of(back), hash_of(trace)) << "seed " << seed;
  }
}

TEST(Trace, SharesTheTimesOfAPollRoundBetweenItsChannels) {
  const std::size_t one = encode(made_trace(1, 90, 0, 1)).size();
  const std::size_t many = encode(made_trace(14, 90, 0, 1)).size();
  EXPECT_LT(many, 3 * one);
}

// 14 channels of 16 bits at 50 Hz for 90 s are 126 000 bytes of counts; noise of 8 counts cannot be
// packed below about 5.05 bits a sample (its entropy), which is 39 800 bytes.
TEST(Trace, IsSmallerThanHalfItsCounts) {
  EXPECT_LT(encode(made_trace(14, 90, 8, 1)).size(), 63'000U);
}

// Frozen with the first record: channel by channel, decoded values, whatever the codec.
TEST(Trace, HashesItsDecodedValuesInChannelOrder) {
  Trace trace;
  trace.columns = {{.channel = "flow",
                    .raw_kind = 0,
                    .time_us = {20'000, 40'000},
                    .raw = {-1, 258},
                    .quality = {0, 2}}};
  trace.marks = {9};
  const Bytes hashed{0,    0,    0,    1,                                // columns
                     0,    0,    0,    4,    'f',  'l',  'o',  'w',  0,  // name, raw_kind
                     0,    0,    0,    2,                                // samples
                     0,    0,    0,    0,    0,    0,    0x4e, 0x20,     // times
                     0,    0,    0,    0,    0,    0,    0x9c, 0x40,     //
                     0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff,     // raw
                     0,    0,    0,    0,    0,    0,    1,    2,        //
                     0,    2,                                            // quality
                     0,    0,    0,    1,    9};                         // marks
  EXPECT_EQ(hash_of(trace), Sha256().bytes(hashed).done());
}

// A trace that an older version wrote without sharing times, packed by hand: the same seal.
TEST(Trace, HasAHashThatDoesNotDependOnHowItIsPacked) {
  Trace shared = made_trace(2, 1, 3, 1);
  const Hash seal = hash_of(shared);
  const Trace once = decode(encode(shared));
  Trace other = once;
  std::reverse(other.columns.begin(), other.columns.end());
  EXPECT_EQ(hash_of(once), seal);
  EXPECT_NE(hash_of(other), seal);  // the order of the channels is part of it
}

TEST(Trace, HasAnotherHashWhenOneNumberDiffers) {
  const Trace trace = made_trace(2, 1, 3, 1);
  const auto differs = [&](auto change) {
    Trace changed = trace;
    change(changed);
    return hash_of(changed) != hash_of(trace);
  };
  EXPECT_TRUE(differs([](Trace& t) { t.columns[1].raw[7] += 1; }));
  EXPECT_TRUE(differs([](Trace& t) { t.columns[0].time_us[7] += 1; }));
  EXPECT_TRUE(differs([](Trace& t) { t.columns[0].quality[7] = 1; }));
  EXPECT_TRUE(differs([](Trace& t) { t.columns[0].raw_kind = 1; }));
  EXPECT_TRUE(differs([](Trace& t) { t.columns[0].channel = "other"; }));
  EXPECT_TRUE(differs([](Trace& t) { t.marks[0] ^= 1; }));
}

TEST(Trace, RefusesColumnsOfUnevenLength) {
  Trace trace = made_trace(1, 1, 3, 1);
  trace.columns[0].raw.pop_back();
  EXPECT_EQ(fault_of([&] { (void)encode(trace); }), StoreFault::Kind::refused);
}

TEST(Trace, NeverReadsDamagedBytesAsTheSameTrace) {
  const Trace trace = made_trace(3, 2, 8, 1);
  const Bytes bytes = encode(trace);
  std::mt19937 random(7);
  for (int i = 0; i < 3000; ++i) {
    Bytes changed = bytes;
    changed[random() % changed.size()] ^= static_cast<std::uint8_t>(1U << random() % 8);
    std::optional<Trace> read;
    const auto fault = fault_of([&] { read = decode(changed); });
    ASSERT_TRUE(fault || hash_of(*read) != hash_of(trace) || same(*read, trace));
  }
  for (std::size_t size = 0; size < bytes.size(); size += 7)
    ASSERT_TRUE(fault_of([&] {
      (void)decode(Bytes(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(size)));
    }));
}

TEST(Trace, RefusesAClaimedSizeBeyondReason) {
  Bytes bytes = encode(made_trace(1, 1, 1, 1));
  bytes[2] = 0x7f;
  EXPECT_EQ(fault_of([&] { (void)decode(bytes); }), StoreFault::Kind::damaged);
}

TEST(BitShuffle, KeepsOnlyThePlanesThatAreNeeded) {
  Bytes flat;
  append_shuffled(flat, std::vector<std::int64_t>(800, 0));
  EXPECT_EQ(flat.size(), 1U);
  Bytes steps;
  std::vector<std::int64_t> ramp;
  for (int i = 1; i <= 800; ++i) ramp.push_back(i);
  append_shuffled(steps, ramp);  // each difference is 1, zig-zag 2: two planes of 100 bytes
  EXPECT_EQ(steps.size(), 201U);
}

}  // namespace
}  // namespace endgate::schema
