#include "daemon/bench/digest.h"

namespace endgate::daemon {
namespace {

template <class T>
void keep_every_second(std::vector<T>& values) {
  const std::size_t kept = (values.size() + 1) / 2;
  for (std::size_t i = 0; i < kept; ++i) values[i] = values[2 * i];
  values.resize(kept);
}

}  // namespace

Digest::Digest(const ChannelTable& channels) {
  for (std::size_t i = 0; i < channels.size(); ++i) {
    Column column;
    column.data.id = channels.facts(i).id;
    column.data.kind = channels.kind(i);
    columns_.push_back(std::move(column));
  }
}

void Digest::record(const Frame& frame) {
  for (const Reading& reading : frame.readings) {
    Column& column = columns_[reading.channel];
    analysis::RawChannel& data = column.data;
    const std::int64_t time_us = reading.time_us.value_or(frame.bench_time_us);
    if (!data.time_us.empty() && time_us < data.time_us.back() + column.every_us) continue;
    data.time_us.push_back(time_us);
    data.raw.push_back(reading.quality == analysis::Quality::not_arrived ? 0 : reading.raw);
    data.quality.push_back(reading.quality);
    if (data.time_us.size() == kMostSamples) halve(column);
  }
}

void Digest::halve(Column& column) {
  keep_every_second(column.data.time_us);
  keep_every_second(column.data.raw);
  keep_every_second(column.data.quality);
  column.every_us *= 2;
}

std::size_t Digest::held() const {
  std::size_t held = 0;
  for (const Column& column : columns_) held += column.data.time_us.size();
  return held;
}

std::vector<analysis::RawChannel> Digest::finish() {
  std::vector<analysis::RawChannel> channels;
  for (Column& column : columns_) channels.push_back(std::move(column.data));
  columns_.clear();
  return channels;
}

}  // namespace endgate::daemon
