#include "daemon/bench/life_watch.h"

#include <cmath>

namespace endgate::daemon {

void LifeWatch::forget() {
  heard_ = {};
  quiet_since_.reset();
  newest_.reset();
}

void LifeWatch::on_frame(const Frame& frame) {
  const bool without_gap = all_heard(frame.arrived);
  if (frame.interlocks.lease_live) heard_[0] = frame.arrived;
  if (frame.interlocks.motor_relay_closed) heard_[1] = frame.arrived;
  newest_ = frame.arrived;
  if (!without_gap || lives(frame) || !quiet_since_) quiet_since_ = frame.arrived;
}

LifeWatch::Seen LifeWatch::seen(Steady now) const {
  const bool named = inputs_.lease_live || inputs_.motor_relay_closed;
  if (!named || !quiet_since_ || !all_heard(now)) return Seen::untold;
  return *newest_ - *quiet_since_ < kNoSignOfLife ? Seen::alive : Seen::quiet;
}

bool LifeWatch::all_heard(Steady now) const {
  const auto fresh = [&](bool is_named, const std::optional<Steady>& heard) {
    return !is_named || (heard && now - *heard <= kMostGap);
  };
  return fresh(inputs_.lease_live.has_value(), heard_[0]) &&
         fresh(inputs_.motor_relay_closed.has_value(), heard_[1]);
}

bool LifeWatch::lives(const Frame& frame) const {
  const auto current_a = frame.value(analysis::Role::supply_current);
  return frame.interlocks.lease_live.value_or(false) ||
         frame.interlocks.motor_relay_closed.value_or(false) ||
         (current_a && std::abs(*current_a) >= flows_a_);
}

}  // namespace endgate::daemon
