// What did a run of hours look like, in memory that does not grow with it?
//
// RULE  of each channel the first sample, then one in every kEvery_us; whenever kMostSamples are
// held, every second one is dropped and the interval doubles.  So between kMostSamples / 2 and
// kMostSamples samples stand evenly over the run, whatever its length, and the same samples give
// the same digest.  What was measured between them is in the pieces of the trace.

#pragma once

#include <cstdint>
#include <vector>

#include "analysis/raw_trace.h"
#include "daemon/bench/channel_table.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class Digest {
 public:
  static constexpr std::size_t kMostSamples = 4096;  // of one channel
  static constexpr std::int64_t kEvery_us = 1'000'000;

  explicit Digest(const ChannelTable& channels);

  void record(const Frame& frame);
  [[nodiscard]] std::size_t held() const;
  [[nodiscard]] std::vector<analysis::RawChannel> finish();

 private:
  struct Column {
    analysis::RawChannel data;
    std::int64_t every_us = kEvery_us;
  };
  static void halve(Column& column);

  std::vector<Column> columns_;
};

}  // namespace endgate::daemon
