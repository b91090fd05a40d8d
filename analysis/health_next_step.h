// What should a person do about a sick channel?
//
// One sentence per state, said behind the reason of a void.  It asks for the check that most often
// finds the cause and can be done beside the bench.

#pragma once

#include <string_view>

#include "analysis/evaluation.h"

namespace endgate::analysis {

constexpr std::string_view next_step_of(HealthState state) {
  switch (state) {
    case HealthState::good:
      return "";
    case HealthState::missing:
      return "Compare the bench file with the bench, then test again.";
    case HealthState::silent:
    case HealthState::no_value:
      return "Check the plug and cable of this sensor, then test again.";
    case HealthState::out_of_range:
      return "Check the cable of this sensor and its range, then test again.";
    case HealthState::stuck:
      return "Switch this sensor off and on; change it if it sticks again.";
    case HealthState::too_fast:
    case HealthState::spiky:
    case HealthState::noisy:
      return "Check plug, screen and earth of this sensor, then test again.";
    case HealthState::time_sick:
      return "Start the bench anew, then test again.";
    case HealthState::zero_shift:
      return "See that the bench is empty and off, set the sensor's zero or calibrate it anew.";
    case HealthState::jumped:
      return "Check the plug of this sensor for a loose contact, then test again.";
    case HealthState::implausible:
      return "Hold this sensor against a reference before the next test.";
  }
  return "";
}

}  // namespace endgate::analysis
