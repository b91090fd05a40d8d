#include "daemon/bench/trace_recorder.h"

#include <cmath>
#include <utility>

namespace endgate::daemon {

TraceRecorder::TraceRecorder(const ChannelTable& channels) {
  for (std::size_t i = 0; i < channels.size(); ++i) {
    Column column;
    column.data.id = channels.facts(i).id;
    column.data.kind = channels.kind(i);
    column.period_us = std::llround(channels.facts(i).period_s * 1e6);
    columns_.push_back(std::move(column));
  }
}

void TraceRecorder::record(const Frame& frame, std::int64_t every_us) {
  for (const Reading& reading : frame.readings) {
    Column& column = columns_[reading.channel];
    const std::int64_t time_us = reading.time_us.value_or(frame.bench_time_us);
    if (column.last_us && time_us <= *column.last_us) continue;
    if (column.last_us && time_us < *column.last_us + every_us) continue;
    fill_gap(column, time_us);
    append(column, time_us, reading);
  }
}

void TraceRecorder::missed(std::span<const std::size_t> channels) {
  for (const std::size_t channel : channels) ++columns_[channel].missing;
}

std::vector<analysis::RawChannel> TraceRecorder::take_piece() {
  std::vector<analysis::RawChannel> piece;
  for (Column& column : columns_) {
    analysis::RawChannel rest{column.data.id, column.data.kind, {}, {}, {}};
    piece.push_back(std::exchange(column.data, std::move(rest)));
  }
  held_ = 0;
  return piece;
}

std::vector<analysis::RawChannel> TraceRecorder::finish() {
  for (Column& column : columns_)
    if (column.last_us) fill_gap(column, *column.last_us + (column.missing + 1) * column.period_us);
  std::vector<analysis::RawChannel> rest = take_piece();
  columns_.clear();
  return rest;
}

void TraceRecorder::append(Column& column, std::int64_t time_us, const Reading& reading) {
  column.data.time_us.push_back(time_us);
  column.data.raw.push_back(reading.quality == analysis::Quality::not_arrived ? 0 : reading.raw);
  column.data.quality.push_back(reading.quality);
  column.last_us = time_us;
  ++held_;
}

void TraceRecorder::fill_gap(Column& column, std::int64_t until_us) {
  const std::int64_t missing = column.missing;
  column.missing = 0;
  if (!column.last_us) return;  // before the first sample nothing was promised
  const std::int64_t from_us = *column.last_us;
  const std::int64_t room = until_us - from_us;
  if (room <= missing) return;
  for (std::int64_t k = 1; k <= missing; ++k)
    append(column, from_us + room * k / (missing + 1), {0, 0, analysis::Quality::not_arrived});
}

}  // namespace endgate::daemon
