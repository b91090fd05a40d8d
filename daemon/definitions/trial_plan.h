// How does a sequence go round, when does it end before its last step, and what of it is kept?
//
// A production sequence has an empty plan.  A lab trial (trial_definition.h) goes round loops for
// hours or days:
//
//   zero, (start, run, rest) x N, vent
//
// Unit: SI; times in bench seconds.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/role.h"

namespace endgate::daemon {

// Goes back from step `last` to step `first`.  No further turn begins when `times` turns are done,
// when `for_s` has passed since the first began, or when the highest value of `steady_role` in two
// turns in a row differs by at most `steady_within_si`: every turn is then like the one before.
struct LoopPlan {
  std::size_t first = 0;  // index in the sequence
  std::size_t last = 0;
  int times = 1;
  std::optional<double> for_s{};
  std::optional<analysis::Role> steady_role{};
  double steady_within_si = 0;
};

// A value that ends a step or the whole trial.  It is a result, not a fault: the motor goes off by
// the last step, and the step's mark says why.
struct EndCondition {
  std::string id{};
  bool ends_trial = true;             // or only the step under way
  std::optional<std::size_t> step{};  // only while this one is under way
  analysis::Role role = analysis::Role::head_temperature;
  double limit_si = 0;
  bool upper = true;
  double for_s = 0;  // must hold so long
};

struct TrialPlan {
  std::vector<LoopPlan> loops;  // in order, apart from one another
  std::vector<EndCondition> ends;
  // Between measurements (runs and rests, from kWholeFor_s after their start) one sample of each
  // channel is kept in so many seconds; 0: every one.
  double keep_every_s = 0;
  bool long_run = false;  // the trace is handed over in pieces as it goes
  double piece_s = 300;   // of bench time in a piece at most: a crash loses no more

  static constexpr double kWholeFor_s = 10;
};

}  // namespace endgate::daemon
