// Which step comes after this one, when the sequence goes round?
//
// Pure; fed with every frame, so that it can see whether the turns have become alike.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/definitions/trial_plan.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class LoopControl {
 public:
  explicit LoopControl(std::vector<LoopPlan> loops) : loops_(std::move(loops)) {}

  void on_frame(const Frame& frame, std::size_t step);

  struct Next {
    std::size_t step = 0;
    std::string why;  // a loop that ended before its last turn: why
  };
  // The step after `step`, which ends now.
  [[nodiscard]] Next after(std::size_t step, std::int64_t now_us);

  // May `step` come again once `from` is over, as far as is known now?
  [[nodiscard]] bool may_come_again(std::size_t step, std::size_t from) const;
  // Turns begun of the loop around `step`, from 1; 0 when it is in none.
  [[nodiscard]] int turn_at(std::size_t step) const;

 private:
  struct Turns {
    int begun = 0;
    std::int64_t first_us = 0;      // the first of them began
    std::optional<double> highest;  // of steady_role, in this turn
    std::optional<double> highest_before;
  };
  [[nodiscard]] std::optional<std::size_t> loop_around(std::size_t step) const;
  [[nodiscard]] std::string over(const LoopPlan& loop, const Turns& turns,
                                 std::int64_t now_us) const;
  Turns& turns_of(std::size_t loop) {
    if (turns_.size() < loops_.size()) turns_.resize(loops_.size());
    return turns_[loop];
  }

  std::vector<LoopPlan> loops_;
  std::vector<Turns> turns_;
};

}  // namespace endgate::daemon
