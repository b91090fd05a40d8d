// A number as bytes, the highest first.

#pragma once

#include <cstdint>

#include "schema/sha256.h"

namespace endgate::schema {

inline void put_number(Bytes& out, std::uint64_t value, int width) {
  for (int shift = 8 * (width - 1); shift >= 0; shift -= 8)
    out.push_back(static_cast<std::uint8_t>(value >> shift));
}

}  // namespace endgate::schema
