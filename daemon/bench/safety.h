// Must this test end now, whatever the sequence thinks?
//
// Pure.  Checked on every frame and, because frames may stop coming, on the steady clock; the first
// three on every answer before its round is whole.  In this order, so that a cause is named and not
// its consequence:
//
//   emergency stop, cover      the bench's own inputs; it opens the relay by itself
//   clamp                      open, once it was closed in this test or is not ours to close
//   over-limits                over_limits.h
//   silence                    no good sample of a channel for longer than allowed
//   relay, valves, supply      relay_watch.h, actuator_watch.h
//
// Not a safety function: hardware opens the relay.

#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "daemon/bench/actuator_watch.h"
#include "daemon/bench/over_limits.h"
#include "daemon/bench/relay_watch.h"

namespace endgate::daemon {

struct SafetyFinding {
  std::optional<analysis::Trip> trip;  // or else:
  BreakOffFinding broken_off;
};

class Safety {
 public:
  using Steady = std::chrono::steady_clock::time_point;

  Safety(const BenchDefinition& bench, const ModelDefinition& model);

  // Everything counts as heard at the start: a start needs every channel heard.
  void begin(Steady now);
  void commanded(const ActuatorCommand& command, Steady now);
  struct Situation {
    bool running = false;  // started, and the motor should run
    std::string step;      // its name, for the sentence
    std::string step_id{};
    std::string beside_id{};    // of the step that runs beside it
    std::int64_t since_us = 0;  // bench time: of the newest change of all this
  };
  // What a device said before its round is whole: the bench's inputs and the over-limits.
  [[nodiscard]] std::optional<SafetyFinding> on_part(const Part& part, const Situation& situation);
  [[nodiscard]] std::optional<SafetyFinding> on_frame(const Frame& frame,
                                                      const ReadBacks& read_backs,
                                                      const Situation& situation);
  [[nodiscard]] std::optional<SafetyFinding> on_steady(Steady now, const Situation& situation);
  // See OverLimits::witness.
  [[nodiscard]] std::optional<std::string> witness(const analysis::Trip& trip,
                                                   const Frame& frame) const {
    return over_limits_.witness(trip, frame);
  }

 private:
  [[nodiscard]] std::optional<BreakOffFinding> interlock(const Interlocks& locks,
                                                         const std::string& step);
  [[nodiscard]] std::optional<BreakOffFinding> silence(Steady now,
                                                       const Situation& situation) const;

  BenchDefinition bench_;
  OverLimits over_limits_;
  RelayWatch relay_;
  ActuatorWatch actuators_;
  std::vector<Steady> heard_;   // last good sample by channel
  bool clamp_is_ours_ = false;  // closed by the zero step, which waits for it
  bool was_clamped_ = false;    // in this test
};

}  // namespace endgate::daemon
