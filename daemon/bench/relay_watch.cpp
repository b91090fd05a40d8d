#include "daemon/bench/relay_watch.h"

#include "daemon/bench/actuators.h"

namespace endgate::daemon {

using analysis::BreakOff;

RelayWatch::RelayWatch(const BenchDefinition& bench) {
  if (const auto relay = find_actuator(bench, actuator::kMotorRelay))
    follow_within_ = bench.actuators[*relay].follow_within;
}

void RelayWatch::commanded(bool on, std::chrono::steady_clock::time_point now) {
  if (on != on_) since_ = now;
  on_ = on;
  if (!on) was_closed_ = false;
}

std::optional<BreakOffFinding> RelayWatch::on_frame(const Frame& frame) {
  const auto closed = frame.interlocks.motor_relay_closed;
  if (!on_ || !closed) return std::nullopt;
  if (*closed) {
    was_closed_ = true;
    return std::nullopt;
  }
  if (!was_closed_ && frame.arrived - since_ <= follow_within_) return std::nullopt;
  const bool lapsed = frame.interlocks.relay_latched_open.value_or(false) ||
                      !frame.interlocks.lease_live.value_or(true);
  if (lapsed)
    return BreakOffFinding{BreakOff::lease_lost,
                           "the bench opened the motor relay "
                           "because its lease was not renewed"};
  return BreakOffFinding{BreakOff::actuator_refused,
                         was_closed_ ? "the motor relay opened by itself"
                                     : "the motor relay was commanded on and did not close"};
}

}  // namespace endgate::daemon
