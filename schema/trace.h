// How does a raw trace look at rest?  Columns of integers and the step marks, format 1.
//
// The hash of a trace is over the decoded values in channel order, so that a better codec, or the
// removal of the trace by policy, keeps the seal.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "schema/facts.h"

namespace endgate::schema {

struct TraceColumn {
  std::string channel;
  std::uint8_t raw_kind = 0;  // as analysis::RawKind
  std::vector<std::int64_t> time_us;
  std::vector<std::int64_t> raw;
  std::vector<std::uint8_t> quality;
};

struct Trace {
  std::vector<TraceColumn> columns;
  std::vector<std::uint8_t> marks;  // canonical bytes of steps, trip and break-off (daemon/mapping)
};

[[nodiscard]] Hash hash_of(const Trace& trace);

// delta, zig-zag, bit shuffle, zstd level 9; self-describing with a format number.
[[nodiscard]] std::vector<std::uint8_t> encode(const Trace& trace);
// Throws StoreFault when the bytes are not a trace this version can read.
[[nodiscard]] Trace decode(const std::vector<std::uint8_t>& bytes);

}  // namespace endgate::schema
