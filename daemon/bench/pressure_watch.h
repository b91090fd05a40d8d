// May the unit on the bench stand under pressure while no test runs?
//
// Pure; fed while no test runs.  stands() begins when a test is over, or when an idle bench has
// read a pressure for longer than venting takes.  It ends when
//
//   seen     a frame shows the receiver vented (is_vented, step.h)
//   cleared  a person says so: a sensor that can no longer show it stops no bench for ever.  Holds
//            until a frame shows it vented or the next test is over.
//
// No value is no proof: after a test it stays doubtful.  A bench without a channel for the pressure
// cannot tell: on it nothing is said.
//
// UNITS  gauge pascal in frames; CLOCK steady, as the frames carry it.  No errors.

#pragma once

#include <chrono>
#include <optional>

#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class PressureWatch {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::seconds kVentsWithin{10};

  explicit PressureWatch(const BenchDefinition& bench) : bench_(bench) {}  // outlives it

  void test_is_over();
  void on_frame(const Frame& frame);
  void latch();  // as an earlier service left it
  void clear();
  [[nodiscard]] bool stands() const { return stands_; }

 private:
  const BenchDefinition& bench_;
  bool stands_ = false;
  bool cleared_ = false;
  std::optional<Steady> read_since_;
};

}  // namespace endgate::daemon
