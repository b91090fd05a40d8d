// What goes into the raw trace, and at which bench time?
//
//   TR-1  Times of a channel rise strictly; a second sample at the same time is dropped.
//   TR-2  A poll that was asked and not answered is `not_arrived`.  When it was is known only
//         afterwards: missing polls are spread evenly between their neighbours.
//   TR-3  Polls missing at the very end are placed at the channel's own period.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "daemon/bench/channel_table.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class TraceRecorder {
 public:
  explicit TraceRecorder(const ChannelTable& channels);

  void record(const Frame& frame);
  void missed(std::span<const std::size_t> channels);
  [[nodiscard]] std::vector<analysis::RawChannel> finish();

 private:
  struct Column {
    analysis::RawChannel data;
    std::int64_t period_us = 0;
    std::int64_t missing = 0;  // asked since the last entry, not answered
  };
  static void append(Column& column, std::int64_t time_us, const Reading& reading);
  static void fill_gap(Column& column, std::int64_t until_us);

  std::vector<Column> columns_;
};

}  // namespace endgate::daemon
