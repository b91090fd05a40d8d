// What is a model and how is it tested?  The content of models/*.toml, checked.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "daemon/definitions/bench_definition.h"

namespace endgate::daemon {

// One step of the sequence.  Times in bench seconds but for the last one.
struct StepDefinition {
  std::string id;  // "hold_400"
  analysis::StepKind kind = analysis::StepKind::zero;
  std::string name;  // on the step rail: "400 kPa"
  double target_gauge_pa = 0;
  std::string receiver = "small";
  double duration_s = 0;             // dwell after ready; for a hold the longest, see hold_min_s
  double hold_min_s = 0;             // a hold may end from here on, when steady
  double rise_pa_s = 0;              // ramp: rate at which the set point climbs
  double let_down_to_gauge_pa = 0;   // back_leak: let down to here before the shut-off closes
  double tolerance_gauge_pa = 5000;  // set point counts as reached within
  double limit_s = 30;               // bench-time limit of the whole step
  double steady_limit_s = 45;        // steady-clock limit, at declared rate 1
  std::string begins_with;  // seal_leak: id of an earlier motor-off step to run beside; or empty
};

struct ModelDefinition {
  std::string id;
  std::string name;
  std::string serial_pattern;      // ECMAScript regular expression of the whole serial
  bool check_character = true;     // ISO/IEC 7064 MOD 37,36 over the characters without dashes
  double supply_voltage_v = 13.5;  // nominal, at the unit's terminals
  double supply_set_v = 13.5;      // what the bench is set to
  double start_within_s = 1.5;     // running speed must be reached
  double running_speed_rev_s = 20;
  analysis::NominalPhysics nominal;
  analysis::ReferenceConditions reference;
  analysis::SteadyRule steady;
  std::vector<StepDefinition> sequence;
  std::vector<OverLimit> over_limits;  // added to the bench's
  std::vector<std::string> metrics;
  double expected_cycle_s = 70;
  double whole_test_limit_s = 240;     // steady clock at declared rate 1
  analysis::RippleExpectation ripple;  // of its motor's current; not known: no speed from it
  analysis::ServiceConditions service;
};

}  // namespace endgate::daemon
