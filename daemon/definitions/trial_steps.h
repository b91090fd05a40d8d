// Which steps and loops make up a lab trial, and can they be run in that order?
//
//   zero first, vent last (once each); between them any order in which the motor is off before a
//   start and runs before a run or a hold.  A rest switches it off.  A loop goes back over whole
//   steps between zero and vent, and finds the motor as it left it.
//
// `run` and `rest` are the warm_up and vent steps of the production under the lab's words.

#pragma once

#include "daemon/definitions/toml_reader.h"
#include "daemon/definitions/trial_definition.h"

namespace endgate::daemon {

// A trial may last a week.
inline constexpr double kLongestTrial_s = 7 * 24 * 3600.0;
// Marks of steps are kept in memory until the end.
inline constexpr double kMostSteps = 20'000;

[[nodiscard]] std::vector<StepDefinition> read_trial_steps(TomlReader& root);
[[nodiscard]] std::vector<LoopPlan> read_loops(TomlReader& root,
                                               const std::vector<StepDefinition>& steps);
[[nodiscard]] std::vector<EndCondition> read_ends(TomlReader& root,
                                                  const std::vector<StepDefinition>& steps);

// How long, and how many steps, at most: a step takes its duration, a loop its turns.
struct TrialSize {
  double seconds = 0;
  double steps = 0;
};
[[nodiscard]] TrialSize size_of(const std::vector<StepDefinition>& steps,
                                const std::vector<LoopPlan>& loops);

}  // namespace endgate::daemon
