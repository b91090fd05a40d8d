// What speaks against a channel once all of them are seen together?
//
// Each check of analysis/health_*.h returns what it found; analysis/health_together.h turns it into
// the health of the channel.  A check never asks whether the unit is good: what a broken unit could
// do to a reading accuses no channel.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/calibration.h"
#include "analysis/evaluation.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

struct Accusation {
  Role role = Role::flow;
  HealthState state = HealthState::good;
  std::string detail;  // one clause for a person
  double time_s = 0;   // from the start of the first step
};
using MaybeAccusation = std::optional<Accusation>;

// A step of this kind that was completed, the first one; null when there is none.
[[nodiscard]] const StepMark* complete_step(const RawTrace& trace, StepKind kind);
[[nodiscard]] Window window_of(const StepMark& step, std::int64_t origin_us);

// printf of two numbers.
[[nodiscard]] std::string said(const char* format, double first, double second = 0);

// " K", " m3/s": what follows a number of this channel.
[[nodiscard]] std::string unit_after(Role role);

[[nodiscard]] SampleNoise stated_noise(const Samples& samples);

}  // namespace endgate::analysis
