// What would the result be if one of the inputs were a little different?
//
// Every input whose uncertainty counts is a knob.  At rest (default constructed) a knob changes
// nothing.  The whole chain is run again with one knob turned by its standard uncertainty, up and
// down; half the difference is the part of u with that cause (analysis/uncertainty_by_cause.h).

#pragma once

#include <array>
#include <vector>

#include "analysis/role.h"

namespace endgate::analysis {

struct Knobs {
  explicit Knobs(std::size_t receivers)
      : volume(receivers, 1.0), conductance(receivers, 1.0), wall(receivers, 1.0) {
    gain.fill(1);
  }

  std::array<double, kRoleCount> gain{};       // reading' = gain reading + offset
  std::array<double, kRoleCount> offset_si{};  // unit of the role
  std::vector<double> volume;                  // factors on the receiver's constants
  std::vector<double> conductance;
  std::vector<double> wall;
  double seal_volume = 1;
  double fixture_back_leak_m3_s = 0;  // added to the stated leak of the fixture
  double fixture_seal_leak_m3_s = 0;
  double inlet_head_share = 0;  // added
  double inlet_discharge_share = 0;
  double leak_start_k = 0;  // added to the temperature of the gas at the start of a back leak
  double seal_leak_cooling = 0;
  double current_per_head = 1;   // factor on the correction applied
  double current_per_speed = 0;  // added to the power
  double evaporation = 1;        // factor on the evaporation time
  double case_share = 0;         // added to the share of the case in the housing's gas temperature
  double flow_per_head = 1;      // factors on the corrections applied
  double flow_per_case = 1;
  double speed_per_case = 1;
  double current_per_case = 1;
  double flow_per_speed = 0;  // added to the power
  double winding_lead = 1;    // factor on the lead of the winding over the case
  double waveform_clock = 1;  // factor on the sample rate of the waveform
  double inertia = 1;         // factor on the moment of inertia
  double opened_s = 0;        // the relay later than the run-down says, seen from the samples
  double winding_k = 0;       // added to the winding's computed temperature where R is sought
  double no_load = 1;         // factor on the current at 0 kPa where torque is sought
  double voltage_lag = 1;     // factor on the lag of the voltage channel, in the run-down alone
  double back_leak_law = 0;   // towards the laminar law, in u (analysis/leak_law.h)
  double seal_leak_law = 0;   // another hole has another law
  double voltage_step = 1;
  double barometer_step = 1;

  [[nodiscard]] double reading(Role role, double value) const {
    const auto i = static_cast<std::size_t>(role);
    return gain[i] * value + offset_si[i];
  }
};

}  // namespace endgate::analysis
