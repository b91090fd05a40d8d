#include "daemon/bench/status_watch.h"

namespace endgate::daemon {
namespace {

struct Watched {
  std::optional<BitSource> InterlockDefinition::*input;
  std::optional<bool> Interlocks::*said;
  const char* whether;
};
// Lease and latch only explain why a relay opened; nothing rests on them.
constexpr std::array<Watched, 4> kWatched{
    {{&InterlockDefinition::emergency_stop_clear, &Interlocks::emergency_stop_clear,
      "whether the emergency stop is released"},
     {&InterlockDefinition::cover_closed, &Interlocks::cover_closed, "whether the cover is closed"},
     {&InterlockDefinition::motor_relay_closed, &Interlocks::motor_relay_closed,
      "whether the motor relay is open"},
     {&InterlockDefinition::fixture_clamped, &Interlocks::fixture_clamped,
      "whether the unit is clamped"}}};

}  // namespace

void StatusWatch::forget() { heard_ = {}; }

void StatusWatch::on_frame(const Frame& frame) {
  for (std::size_t i = 0; i < kWatched.size(); ++i)
    if (frame.interlocks.*kWatched[i].said) heard_[i] = frame.arrived;
}

std::optional<const char*> StatusWatch::silent(Steady now) const {
  for (std::size_t i = 0; i < kWatched.size(); ++i) {
    const bool named = (inputs_.*kWatched[i].input).has_value();
    if (named && (!heard_[i] || now - *heard_[i] > kSilentAfter)) return kWatched[i].whether;
  }
  return std::nullopt;
}

}  // namespace endgate::daemon
