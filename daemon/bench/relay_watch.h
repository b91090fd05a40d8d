// Does the motor relay do what it was told while a test runs?
//
// On commanded, read back open: after follow_within, or at once when it was read back closed
// before.  What it means depends on the bench's own word: the lease lapsed, or the relay refused.
// Whether *off* is obeyed is the business of off_watch.h, test or no test.

#pragma once

#include <chrono>
#include <optional>
#include <string>

#include "analysis/raw_trace.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

struct BreakOffFinding {
  analysis::BreakOff cause = analysis::BreakOff::none;
  std::string detail;
};

class RelayWatch {
 public:
  explicit RelayWatch(const BenchDefinition& bench);

  void commanded(bool on, std::chrono::steady_clock::time_point now);
  [[nodiscard]] std::optional<BreakOffFinding> on_frame(const Frame& frame);

 private:
  std::chrono::milliseconds follow_within_{1000};
  bool on_ = false;
  bool was_closed_ = false;
  std::chrono::steady_clock::time_point since_{};
};

}  // namespace endgate::daemon
