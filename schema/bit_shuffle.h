// How do 64-bit integers become bytes that a general compressor likes?
//
// Delta to the value before, zig-zag (small negative numbers become small), then bit planes: plane
// k holds bit k of every number, eight to a byte.  Only the planes that some number needs are kept.
//
//   stream = width u8 | width planes of ceil(count / 8) bytes, lowest bit first
//
// All arithmetic is modulo 2^64, so any values come back, bits of doubles included.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "schema/sha256.h"

namespace endgate::schema {

void append_shuffled(Bytes& out, std::span<const std::int64_t> values);

// Takes one stream of `count` values from the front of `in`.  StoreFault::damaged.
[[nodiscard]] std::vector<std::int64_t> take_shuffled(std::span<const std::uint8_t>& in,
                                                      std::size_t count);

}  // namespace endgate::schema
