#include "daemon/bench/loop_control.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "daemon/bench/end_words.h"

namespace endgate::daemon {

void LoopControl::on_frame(const Frame& frame, std::size_t step) {
  const auto loop = loop_around(step);
  if (!loop) return;
  Turns& turns = turns_of(*loop);
  if (turns.begun == 0) {
    turns.begun = 1;
    turns.first_us = frame.bench_time_us;
  }
  if (!loops_[*loop].steady_role) return;
  const auto value = frame.value(*loops_[*loop].steady_role);
  if (value) turns.highest = std::max(turns.highest.value_or(*value), *value);
}

LoopControl::Next LoopControl::after(std::size_t step, std::int64_t now_us) {
  const auto index = loop_around(step);
  if (!index || loops_[*index].last != step) return {step + 1, {}};
  const LoopPlan& loop = loops_[*index];
  Turns& turns = turns_of(*index);
  if (turns.begun >= loop.times) return {step + 1, {}};
  if (std::string why = over(loop, turns, now_us); !why.empty()) return {step + 1, std::move(why)};
  ++turns.begun;
  turns.highest_before = turns.highest;
  turns.highest.reset();
  return {loop.first, {}};
}

std::string LoopControl::over(const LoopPlan& loop, const Turns& turns, std::int64_t now_us) const {
  const double passed_s = 1e-6 * static_cast<double>(now_us - turns.first_us);
  if (loop.for_s && passed_s >= *loop.for_s) {
    char text[80];
    std::snprintf(text, sizeof text, "%.0f s of turns are over", *loop.for_s);
    return text;
  }
  if (!loop.steady_role || !turns.highest || !turns.highest_before) return {};
  const double change = std::abs(*turns.highest - *turns.highest_before);
  if (change > loop.steady_within_si) return {};
  return alike_words(*loop.steady_role, change);
}

bool LoopControl::may_come_again(std::size_t step, std::size_t from) const {
  const auto index = loop_around(from);
  if (!index) return false;
  const LoopPlan& loop = loops_[*index];
  const int begun = *index < turns_.size() ? turns_[*index].begun : 0;
  return loop.first <= step && step <= loop.last && begun < loop.times;
}

int LoopControl::turn_at(std::size_t step) const {
  const auto index = loop_around(step);
  return index && *index < turns_.size() ? turns_[*index].begun : 0;
}

std::optional<std::size_t> LoopControl::loop_around(std::size_t step) const {
  for (std::size_t i = 0; i < loops_.size(); ++i)
    if (loops_[i].first <= step && step <= loops_[i].last) return i;
  return std::nullopt;
}

}  // namespace endgate::daemon
