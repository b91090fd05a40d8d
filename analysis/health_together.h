// Which channels cannot be believed once they are seen beside each other and beside their own zero?
//
// judge_channels (analysis/channel_health.h) looks at one channel at a time, as it arrived.  Here
// the calibrated samples of all of them are at hand.  Only channels found good so far are looked
// at, and the first finding per channel counts, in this order:
//
//   spiky        odd samples were left out, more than kOddShare of all (analysis/odd_samples.h)
//   stuck        analysis/health_dull.h; also silent and no_value
//   zero_shift   analysis/health_zero.h
//   noisy        analysis/health_noise.h
//   jumped       analysis/health_jump.h
//   implausible  analysis/health_warming.h, health_timing.h, health_motor.h
//
// A finding accuses a channel only if no unit, however broken, explains it: a bad unit must be able
// to fail.

#pragma once

#include <vector>

#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"
#include "analysis/survey.h"

namespace endgate::analysis {

// True if a channel of `health`, one per channel of the bench, became sick.
[[nodiscard]] bool find_sick_together(const Survey& survey, const RawTrace& trace,
                                      std::vector<ChannelHealth>& health);

}  // namespace endgate::analysis
