// May this channel be believed, wherever the test rests on it?
//
// Decided before and apart from any estimate, on raw samples, over the complete steps in which the
// channel matters (a step that was broken off is judged by its break-off):
//
//   pressure, barometer, ambient, humidity   zero, holds and rises, back leak
//   voltage, current, speed, head            holds and rises
//   flow                                     holds and ramps: behind a shut outlet it may stand still
//   case                                     holds and rises, seal leak
//   seal pressure                            zero, seal leak
//
//   missing       the trace has no such channel, or it is empty, or its columns differ in length
//   time_sick     a time stamp is not after the one before
//   silent        no good sample for longer than silent_after_s
//   no_value      the same, while the device answered that it has no value
//   out_of_range  kBeyondRangeInARow samples in a row outside the range, from the step's ready mark on
//   too_fast      more than two changes (one spike) faster than max_rate_si_s, likewise
//   stuck         the same raw value for longer than stuck_after_s while the motor runs
//
// The first that applies in this order is reported, with where and when.  Range and rate are held
// against nominal SI values: they are properties of the sensor, not of its calibration.

#pragma once

#include <vector>

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

// Samples beyond the range that make a finding, also in a run of hours (duty_run.h).
inline constexpr int kBeyondRangeInARow = 3;

[[nodiscard]] bool matters_in(Role role, StepKind kind);

[[nodiscard]] ChannelHealth health_of(const ChannelFacts& facts, const RawTrace& trace);

// One per channel of the bench, in its order.
[[nodiscard]] std::vector<ChannelHealth> judge_channels(const RawTrace& trace,
                                                        const BenchFacts& bench);

}  // namespace endgate::analysis
