// Which bursts of the motor's current does the trace hold in one step, and at which sample rate?
//
// Inside a burst the times are those of the device's sample clock, evenly spaced; where samples lie
// further apart than one and a half of their usual distance another burst begins.  A burst with a
// sample that is no good one, or outside the range (clipped), is left out with its reason.
//
//   rate = (n - 1) / (t_n - t_1)     times are whole microseconds: 2e-6 of a burst of 0.5 s

#pragma once

#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

struct WaveformBurst {
  double rate_hz = 0;
  std::vector<double> current_a;
};

struct WaveformBursts {
  std::vector<WaveformBurst> bursts;
  std::string why_none;  // one clause; says something when no burst is of use
};

[[nodiscard]] WaveformBursts waveform_bursts(const RawTrace& trace, const WaveformFacts& facts,
                                             const StepMark& step);

}  // namespace endgate::analysis
