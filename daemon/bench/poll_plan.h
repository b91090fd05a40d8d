// Which registers are to be read now, in the fewest requests?
//
// The poll ticks with the period of the fastest channel.  Clock, interlocks and read-backs are read
// at every tick (but not the owner word and the lease), a channel when its own period asks for it.
// Spans of one device, unit and function are merged when the gap between them is small: reading a
// few words too many costs less than a second request.  An instrument is asked nothing too many:
// each of its numbers is a query, and one that takes no joined queries is asked them as requests of
// their own, so that motor off goes between two and each has its own deadline.  A stream's columns
// need no request of their own.

#pragma once

#include <chrono>
#include <cstdint>
#include <vector>

#include "daemon/bench/register_image.h"
#include "daemon/definitions/bench_definition.h"

namespace endgate::daemon {

// What one request to a device may ask for: registers read for nothing, and read at all.
struct ReadLimits {
  std::uint16_t largest_gap = DeviceDefinition{}.largest_gap;
  std::uint16_t most_registers = DeviceDefinition{}.most_registers;
};

struct PollRound {
  std::vector<std::size_t> channels;  // due in this round
  std::vector<DeviceSpan> spans;      // by device, function, address
};

class PollPlan {
 public:
  explicit PollPlan(const BenchDefinition& bench);

  // Bench seconds between ticks, and the same on the steady clock at the declared rate.
  [[nodiscard]] double tick_s() const { return tick_s_; }
  [[nodiscard]] std::chrono::nanoseconds tick_steady() const { return tick_steady_; }

  // What is due at this tick (rising, may skip): a channel whose own tick was skipped is due at the
  // next one, and keeps its phase.
  [[nodiscard]] PollRound round(std::int64_t tick);

 private:
  struct Slot {
    std::int64_t every = 1;  // ticks
    std::int64_t next = 0;
    DeviceSpan span;
  };
  std::vector<ReadLimits> limits_;  // by device
  double tick_s_ = 0.02;
  std::chrono::nanoseconds tick_steady_{};
  std::vector<Slot> slots_;         // by channel
  std::vector<DeviceSpan> always_;  // clock, interlocks, read-backs
};

// Sorted and merged; no span grows beyond what its device takes.  `limits` by device; a device
// beyond its end has those above.
[[nodiscard]] std::vector<DeviceSpan> merge_spans(std::vector<DeviceSpan> spans,
                                                  const std::vector<ReadLimits>& limits = {});

}  // namespace endgate::daemon
