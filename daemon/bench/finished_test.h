// What does a bench hand over when a test is over?

#pragma once

#include <chrono>
#include <cstdint>
#include <optional>

#include "analysis/raw_trace.h"

namespace endgate::daemon {

struct FinishedTest {
  analysis::RawTrace trace;
  std::int64_t start_command_us = 0;  // bench time
  std::int64_t last_sample_us = 0;
  std::chrono::steady_clock::time_point last_sample_at{};
  // Of a long run: `trace` holds a digest of it (digest.h), this what was recorded since the last
  // piece was handed over.
  std::optional<analysis::RawTrace> last_piece{};
};

}  // namespace endgate::daemon
