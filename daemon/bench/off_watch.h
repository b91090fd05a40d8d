// Is the motor off, and what if it does not obey?
//
// Pure; runs with and without a test.  While off is wanted:
//
//   confirmed   the device took the write, the relay is read back open and no current flows: less
//               than BenchDefinition::motor_current_flows_a
//   send_due    not confirmed: off is repeated every 100 ms, for ever
//   unknown     not confirmed for longer than the relay's follow_within with contact to the bench:
//               latched until a person clears it, and only when it is confirmed by then
//
// A bench whose file names no read-back of the relay is believed when it took the write, and then
// only with a current that is heard, if it has such a channel.  A read-back that is named and not
// heard confirms nothing.  `endgate check` says what is therefore not promised.

#pragma once

#include <chrono>
#include <string>

#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class OffWatch {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::milliseconds kRepeat{100};
  static constexpr const char* kNotReadBack = "off is not read back";

  explicit OffWatch(const BenchDefinition& bench);

  void order(Steady now);  // off is wanted, as of now (again: after a reconnect)
  void release();          // on is wanted
  void sent(Steady now) { sent_ = now; }
  void acknowledged() { acknowledged_ = true; }
  void on_frame(const Frame& frame);
  void on_steady(Steady now, bool in_contact);

  [[nodiscard]] bool send_due(Steady now) const;
  [[nodiscard]] bool wanted() const { return wanted_; }
  [[nodiscard]] bool confirmed() const { return wanted_ && confirmed_; }
  [[nodiscard]] bool unknown() const { return unknown_; }
  // Why off is not confirmed, for a sentence; empty when it is.
  [[nodiscard]] const std::string& doubt() const { return doubt_; }
  bool clear();                      // true: cleared
  void latch() { unknown_ = true; }  // as an earlier service left it

 private:
  std::chrono::milliseconds follow_within_{1000};
  bool reads_relay_back_ = false;
  bool measures_current_ = false;
  double flows_a_ = 0;
  std::string doubt_ = kNotReadBack;
  bool wanted_ = false;
  bool acknowledged_ = false;
  bool confirmed_ = false;
  bool unknown_ = false;
  Steady since_{};  // ordered, or last confirmed
  Steady sent_{};
};

}  // namespace endgate::daemon
