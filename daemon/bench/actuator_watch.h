// Do valves and supply follow their commands, as far as the bench reads them back?
//
// A read-back that still disagrees follow_within (steady clock) after the command is a refusal.
// Relay, clamp, lease and owner have rules of their own and are left out.

#pragma once

#include <chrono>
#include <optional>
#include <vector>

#include "daemon/bench/frame_maker.h"
#include "daemon/bench/relay_watch.h"
#include "daemon/bench/sequence.h"

namespace endgate::daemon {

class ActuatorWatch {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  explicit ActuatorWatch(const BenchDefinition& bench);

  void commanded(const ActuatorCommand& command, Steady now);
  [[nodiscard]] std::optional<BreakOffFinding> on_frame(const ReadBacks& read_backs, Steady now);

 private:
  struct Expected {
    bool watched = false;
    std::optional<double> value_si;
    Steady agreed_or_commanded{};
  };
  BenchDefinition bench_;
  std::vector<Expected> expected_;
};

}  // namespace endgate::daemon
