// What did one device say, before the round it belongs to is whole?
//
// Limits and interlocks are judged on it as soon as it is there: a frame waits for the slowest device
// of its round, and has one value of a channel that streamed many.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "daemon/frame.h"

namespace endgate::daemon {

struct ReceivedValue {
  std::size_t channel = 0;         // index in BenchDefinition::channels
  std::int64_t time_us = 0;        // bench time, near enough to measure how long a limit is broken
  std::optional<double> value_si;  // absent: no good sample
};

struct Part {
  Interlocks interlocks;              // those the device said; the others are absent
  std::vector<ReceivedValue> values;  // of one channel in the order of time
};

}  // namespace endgate::daemon
