// Which pieces does the trace of a long run name?
//
// The trace that a record of a long run seals is a digest; its marks (document kind 102, see
// schema/README.md) end with a list of the pieces, each a trace of its own.  Whoever checks or
// copies a store asks here, and needs nothing else of what the marks say.

#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <vector>

#include "schema/sha256.h"

namespace endgate::schema {

struct NamedPiece {
  std::string file;  // "trace-0001.db"
  Hash sha256{};
};

// Empty for marks of any other kind.  StoreFault::damaged for bytes that are not such marks.
[[nodiscard]] std::vector<NamedPiece> named_pieces(std::span<const std::uint8_t> marks);

}  // namespace endgate::schema
