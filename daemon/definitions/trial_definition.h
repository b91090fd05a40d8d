// What does the lab want to be run?  The content of trials/*.toml, checked.
//
// A trial is a text of its own that a person accepts, so that the lab can change it without
// touching the accepted model of the production.  It runs a unit of its model on any bench that
// fits that model, under the bench's and the model's over-limits, with purpose `lab`.

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/model_definition.h"
#include "daemon/definitions/trial_plan.h"

namespace endgate::daemon {

// The temperature at which the unit's own cut-out opens, and the room that duty is stated for.
struct CutOut {
  analysis::Role role = analysis::Role::head_temperature;  // or case_temperature
  double opens_at_k = 0;
  double room_k = 293.15;
};

struct TrialDefinition {
  std::string id;
  std::string name;
  std::string model;
  std::vector<StepDefinition> sequence;
  TrialPlan plan;
  CutOut cut_out;
  double whole_limit_s = 0;  // steady clock at declared rate 1
  double expected_s = 0;     // the longest it may take by its own steps and loops
};

// The model as it is to be run in this trial: its sequence and times replaced.
[[nodiscard]] ModelDefinition run_in_trial(ModelDefinition model, const TrialDefinition& trial);
// What its result is computed and judged with: metrics of duty, the cut-out as the only limit, the
// room of the trial.
[[nodiscard]] analysis::Context context_in_trial(analysis::Context context,
                                                 const TrialDefinition& trial, int version);

}  // namespace endgate::daemon
