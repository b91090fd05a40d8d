// What does a bench hand over when a test is over?

#pragma once

#include <chrono>
#include <cstdint>

#include "analysis/raw_trace.h"

namespace endgate::daemon {

struct FinishedTest {
  analysis::RawTrace trace;
  std::int64_t start_command_us = 0;  // bench time
  std::int64_t last_sample_us = 0;
  std::chrono::steady_clock::time_point last_sample_at{};
};

}  // namespace endgate::daemon
