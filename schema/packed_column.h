// How does a column of a derived file become bytes, small and quick to read?
//
//   form u8 = 1   runs:   count u32 | for each run: value 8 bytes, length u32
//   form u8 = 2   fixed:  width u8 (1, 2, 4, 8) | least value 8 bytes | value - least, width each
//
// Whichever is smaller.  Doubles go through their bits, so every value comes back exactly; what is
// missing is a NaN, which no sealed fact holds.  Little-endian: derived files stay on the machine.

#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "schema/sha256.h"

namespace endgate::schema {

[[nodiscard]] Bytes pack(std::span<const std::int64_t> values);
[[nodiscard]] Bytes pack(std::span<const double> values);
[[nodiscard]] Bytes pack(std::span<const std::string> texts);

// Fills all of `out`; StoreFault::damaged when the bytes hold another number of values.
void unpack(std::span<const std::uint8_t> bytes, std::span<std::int64_t> out);
void unpack(std::span<const std::uint8_t> bytes, std::span<double> out);
[[nodiscard]] std::vector<std::string> unpack_texts(std::span<const std::uint8_t> bytes,
                                                    std::size_t count);

}  // namespace endgate::schema
