#include "daemon/bench/waveform_recorder.h"

#include <cmath>
#include <cstdlib>
#include <utility>

#include "daemon/links/sample_block.h"

namespace endgate::daemon {
namespace {

using analysis::Quality;
using analysis::RawChannel;

RawChannel named(const WaveformDefinition& waveform) {
  RawChannel channel;
  channel.id = waveform.facts.id;
  if (waveform.source.type == RegisterType::f32) channel.kind = analysis::RawKind::float32;
  return channel;
}

void clear(RawChannel& channel) {
  channel.time_us.clear();
  channel.raw.clear();
  channel.quality.clear();
}

void resize(RawChannel& channel, std::size_t size) {
  channel.time_us.resize(size);
  channel.raw.resize(size);
  channel.quality.resize(size);
}

void add(RawChannel& to, const RawChannel& from) {
  to.time_us.insert(to.time_us.end(), from.time_us.begin(), from.time_us.end());
  to.raw.insert(to.raw.end(), from.raw.begin(), from.raw.end());
  to.quality.insert(to.quality.end(), from.quality.begin(), from.quality.end());
}

}  // namespace

WaveformRecorder::WaveformRecorder(std::optional<WaveformDefinition> waveform, double settle_s)
    : waveform_(std::move(waveform)), settle_us_(std::llround(settle_s * 1e6)) {
  if (waveform_) column_ = burst_ = named(*waveform_);
}

void WaveformRecorder::on_frame(const Frame& frame, const analysis::StepMark* step) {
  if (!waveform_ || step == nullptr || step->kind != analysis::StepKind::hold) return;
  if (hold_us_ != step->start_us) {
    hold_us_ = step->start_us;
    kept_ = column_.raw.size();
    has_first_ = false;
    clear(burst_);
  }
  for (const WaveformPiece& piece : frame.waveform)
    if (is_settled(piece, *step)) take(piece);
}

bool WaveformRecorder::is_settled(const WaveformPiece& piece,
                                  const analysis::StepMark& step) const {
  return step.ready_us && piece.first_us >= *step.ready_us + settle_us_;
}

void WaveformRecorder::take(const WaveformPiece& piece) {
  const SampleBlock& block = *piece.block;
  const std::int64_t half_us = block.period_ns / 2000 + 1;
  if (std::abs(block.first_us - next_device_us_) > half_us) clear(burst_);
  if (burst_.raw.empty()) {
    burst_first_us_ = piece.first_us;
    burst_device_us_ = block.first_us;
  }
  append(piece);
  next_device_us_ = block.time_us(block.samples());
  if (burst_.raw.size() > kMostInBurst) return clear(burst_);
  const auto length_us = static_cast<double>(next_device_us_ - burst_device_us_);
  if (length_us >= waveform_->facts.burst_s * 1e6) keep_burst();
}

void WaveformRecorder::append(const WaveformPiece& piece) {
  const SampleColumn& column = piece.block->columns[piece.column];
  for (std::size_t i = 0; i < piece.block->samples(); ++i) {
    burst_.time_us.push_back(burst_first_us_ + piece.block->time_us(i) - burst_device_us_);
    burst_.raw.push_back(raw_of(column, i));
    burst_.quality.push_back(Quality::good);
  }
}

void WaveformRecorder::keep_burst() {
  if (has_first_) resize(column_, kept_);
  const bool follows = column_.time_us.empty() || burst_.time_us.front() > column_.time_us.back();
  if (follows && column_.raw.size() + burst_.raw.size() <= kMostSamples) {
    add(column_, burst_);
    if (!has_first_) kept_ = column_.raw.size();
    has_first_ = true;
  }
  clear(burst_);
}

std::optional<RawChannel> WaveformRecorder::finish() {
  if (!waveform_) return std::nullopt;
  return std::move(column_);
}

}  // namespace endgate::daemon
