// What did the bench say in one poll round?  One consistent picture: raw numbers, bench time,
// quality, interlocks.  Made by a link and the channel table; consumed by sequence, safety, trace.

#pragma once

#include <array>
#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "analysis/raw_trace.h"
#include "analysis/role.h"

namespace endgate::daemon {

struct Reading {
  std::size_t channel = 0;  // index in BenchDefinition::channels
  std::int64_t raw = 0;
  analysis::Quality quality = analysis::Quality::good;
  std::optional<std::int64_t> time_us{};  // bench time of its own; absent: the frame's
};

struct Interlocks {
  std::optional<bool> cover_closed;  // absent: the bench has no such input
  std::optional<bool> emergency_stop_clear;
  std::optional<bool> motor_relay_closed;  // read back
  std::optional<bool> lease_live;
  std::optional<bool> relay_latched_open;
  std::optional<bool> fixture_clamped{};
};

struct SampleBlock;  // daemon/links/sample_block.h

// A stretch of the motor's current as it was streamed.
struct WaveformPiece {
  std::int64_t first_us = 0;  // bench time of its first sample
  std::shared_ptr<const SampleBlock> block;
  std::size_t column = 0;
};

struct Frame {
  std::int64_t bench_time_us = 0;
  std::chrono::steady_clock::time_point arrived{};
  std::vector<Reading> readings;  // channels that were due in this round
  Interlocks interlocks;
  // Last known calibrated value per role, for steering and display only; absent when not good or
  // older than the channel's silent_after_s.
  std::array<std::optional<double>, analysis::kRoleCount> value_si;
  std::vector<WaveformPiece> waveform{};  // since the frame before

  [[nodiscard]] std::optional<double> value(analysis::Role role) const {
    return value_si[static_cast<std::size_t>(role)];
  }
};

}  // namespace endgate::daemon
