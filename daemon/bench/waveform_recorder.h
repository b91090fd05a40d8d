// Which bursts of the motor's current go into the raw trace?
//
// While a hold stands settled (settle_s after its ready mark) the stream is cut into bursts of
// burst_s without a gap.  Two of each hold are kept: the first, and the newest that was complete
// when the hold ended; so an even drift cancels, and a long hold keeps no more than a short one.
//
//   WR-1  Memory and trace are bounded: at most kMostSamples of a test, kMostInBurst of a burst.
//   WR-2  Inside a burst the times are those of the device's sample clock, evenly apart; only its
//         beginning is placed on bench time.
//   WR-3  Times rise strictly; a burst that would begin before the one before it ended is dropped.
//   WR-4  A block missing inside a burst begins it anew; what is not whole is not kept.

#pragma once

#include <cstdint>
#include <optional>

#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class WaveformRecorder {
 public:
  static constexpr std::size_t kMostSamples = 1u << 19;
  static constexpr std::size_t kMostInBurst = 1u << 17;

  // Absent: the bench has no waveform, and nothing is kept.
  WaveformRecorder(std::optional<WaveformDefinition> waveform, double settle_s);

  // `step`: the one under way, or null.
  void on_frame(const Frame& frame, const analysis::StepMark* step);
  // Its column, perhaps empty; absent when the bench has no waveform.
  [[nodiscard]] std::optional<analysis::RawChannel> finish();

 private:
  [[nodiscard]] bool is_settled(const WaveformPiece& piece, const analysis::StepMark& step) const;
  void take(const WaveformPiece& piece);
  void append(const WaveformPiece& piece);
  void keep_burst();

  std::optional<WaveformDefinition> waveform_;
  std::int64_t settle_us_;
  std::optional<std::int64_t> hold_us_;  // start of the hold that is listened to
  std::size_t kept_ = 0;                 // samples that stay: other holds, the first of this one
  bool has_first_ = false;
  analysis::RawChannel column_;
  analysis::RawChannel burst_;       // under way
  std::int64_t burst_first_us_ = 0;  // bench time of its first sample
  std::int64_t burst_device_us_ = 0;
  std::int64_t next_device_us_ = 0;  // when the next block must begin
};

}  // namespace endgate::daemon
