// Time of the steady clock against bench time.

#pragma once

#include <chrono>

#include "daemon/definitions/bench_definition.h"

namespace endgate::daemon {

// Bench seconds in a second; 1 on a bench without a clock of its own.
[[nodiscard]] inline double declared_rate(const BenchDefinition& bench) {
  return bench.clock ? bench.clock->declared_rate : 1;
}

[[nodiscard]] inline double seconds(std::chrono::steady_clock::duration duration) {
  return std::chrono::duration<double>(duration).count();
}

}  // namespace endgate::daemon
