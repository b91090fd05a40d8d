#include "daemon/bench/off_watch.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "daemon/bench/actuators.h"

namespace endgate::daemon {

namespace {

std::string words_of_current(double current_a, double flows_a) {
  char text[120];
  std::snprintf(text, sizeof text,
                "the current sensor reads %.2f A, and %.2f A or more counts as a running motor",
                current_a, flows_a);
  return text;
}

}  // namespace

OffWatch::OffWatch(const BenchDefinition& bench)
    : reads_relay_back_(bench.interlocks.motor_relay_closed.has_value()),
      measures_current_(std::ranges::any_of(bench.channels,
                                            [](const ChannelDefinition& channel) {
                                              return channel.facts.role ==
                                                     analysis::Role::supply_current;
                                            })),
      flows_a_(bench.motor_current_flows_a) {
  if (const auto relay = find_actuator(bench, actuator::kMotorRelay))
    follow_within_ = bench.actuators[*relay].follow_within;
}

void OffWatch::order(Steady now) {
  wanted_ = true;
  acknowledged_ = confirmed_ = false;
  doubt_ = kNotReadBack;
  since_ = sent_ = now;
}

void OffWatch::release() { wanted_ = confirmed_ = false; }

void OffWatch::on_frame(const Frame& frame) {
  if (!wanted_) return;
  const auto& closed = frame.interlocks.motor_relay_closed;
  const auto current_a = frame.value(analysis::Role::supply_current);
  const bool believed = !reads_relay_back_ && (current_a || !measures_current_);
  const bool open = closed ? !*closed : believed;
  const bool flows = current_a && std::abs(*current_a) >= flows_a_;
  confirmed_ = acknowledged_ && open && !flows;
  doubt_ = confirmed_              ? std::string()
           : acknowledged_ && open ? words_of_current(*current_a, flows_a_)
                                   : std::string(kNotReadBack);
  if (confirmed_) since_ = frame.arrived;
}

void OffWatch::on_steady(Steady now, bool in_contact) {
  if (wanted_ && !confirmed_ && in_contact && now - since_ > follow_within_) unknown_ = true;
}

bool OffWatch::send_due(Steady now) const {
  return wanted_ && !confirmed_ && now - sent_ >= kRepeat;
}

bool OffWatch::clear() {
  if (!confirmed()) return false;
  unknown_ = false;
  return true;
}

}  // namespace endgate::daemon
