// What did each channel measure, in SI, once its calibration and today's zero are applied?
//
//   nominal   = scale raw + offset                  bench file
//   corrected = gain nominal + offset               calibration of the channel
//   zeroed    = corrected - mean over the zero step gauge pressures and current only
//
// In the zero step everything is off and vented, so these channels must read 0: their offset is
// measured in every test, replaces the offset of the certificate, and has the random u of that
// mean.  Where no zero step was completed the certificate's offset and its u stand.
//
// Samples whose quality is not good, whose number is not finite, or that do not belong to their
// neighbours (analysis/odd_samples.h) are left out, never filled in.
// Time is in seconds from the start of the first step.

#pragma once

#include <array>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/raw_trace.h"
#include "analysis/role.h"

namespace endgate::analysis {

struct Column {
  std::vector<double> time_s;  // increasing
  std::vector<double> value;   // SI, same length
};

// One channel of the bench, as the analysis uses it.
struct Samples {
  const ChannelFacts* facts = nullptr;  // null: the bench has no channel of this role
  Column column;
  double resolution_si = 0;  // SI per step of the raw number
  bool zeroed = false;
  double u_zero_si = 0;            // random, of the zero that was taken off
  double zero_si = 0;              // what was taken off
  std::vector<double> odd_time_s;  // when samples were odd
};
using SamplesByRole = std::array<Samples, kRoleCount>;

constexpr std::size_t index_of(Role role) { return static_cast<std::size_t>(role); }

// The number behind the bits of one sample.
[[nodiscard]] double number_of(RawKind kind, std::int64_t raw);

// Bench time that counts as 0 s.
[[nodiscard]] std::int64_t origin_us(const RawTrace& trace);
[[nodiscard]] double seconds_from(std::int64_t origin_us, std::int64_t time_us);

[[nodiscard]] const RawChannel* find_channel(const RawTrace& trace, const std::string& id);

// SI per step of the raw number; 0 for numbers that are not counts.
[[nodiscard]] double resolution_of(const ChannelFacts& facts, RawKind kind);

[[nodiscard]] SamplesByRole calibrate(const RawTrace& trace, const BenchFacts& bench);

}  // namespace endgate::analysis
