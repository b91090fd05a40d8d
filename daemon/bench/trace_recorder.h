// What goes into the raw trace, and at which bench time?
//
//   TR-1  Times of a channel rise strictly; a second sample at the same time is dropped.
//   TR-2  A poll that was asked and not answered is `not_arrived`.  When it was is known only
//         afterwards: missing polls are spread evenly between their neighbours.
//   TR-3  Polls missing at the very end are placed at the channel's own period.
//   TR-4  What is taken as a piece is held no longer; TR-1 and TR-2 go on across pieces.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "daemon/bench/channel_table.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class TraceRecorder {
 public:
  explicit TraceRecorder(const ChannelTable& channels);

  // `every_us` above 0: a channel's sample is left out when it comes sooner after the last kept.
  void record(const Frame& frame, std::int64_t every_us = 0);
  void missed(std::span<const std::size_t> channels);
  [[nodiscard]] std::size_t held() const { return held_; }
  // What was recorded since the last piece.
  [[nodiscard]] std::vector<analysis::RawChannel> take_piece();
  [[nodiscard]] std::vector<analysis::RawChannel> finish();

 private:
  struct Column {
    analysis::RawChannel data;
    std::int64_t period_us = 0;
    std::int64_t missing = 0;  // asked since the last entry, not answered
    std::optional<std::int64_t> last_us{};
  };
  void append(Column& column, std::int64_t time_us, const Reading& reading);
  void fill_gap(Column& column, std::int64_t until_us);

  std::vector<Column> columns_;
  std::size_t held_ = 0;
};

}  // namespace endgate::daemon
