// What a frame maker makes of an answer before the round is whole.  Nothing is kept of it: the frame
// brings it again.

#include "daemon/bench/frame_maker.h"
#include "daemon/bench/steady_time.h"

namespace endgate::daemon {

Part FrameMaker::part(const DeviceSpan& span, const SpanAnswer& answer) const {
  Part part;
  if (!placed_ || answer.words.empty()) return part;
  RegisterImage image;
  image.put(span, answer.words);
  part.interlocks = interlocks_of(image);
  const std::int64_t time_us = bench_us_at(answer.sent + (answer.arrived - answer.sent) / 2);
  for (std::size_t channel = 0; channel < channels_.size(); ++channel) {
    const RegisterSource& source = channels_.source(channel);
    if (source.column || !image.raw(channels_.device(channel), source)) continue;
    Reading reading = channels_.read(channel, image);
    if (source.conversion != Conversion::as_is) {
      EventRate rate = rates_[channel];  // the frame's own goes on from where it is
      reading = rate.converted(reading, time_us);
    }
    part.values.push_back(received(reading, time_us));
  }
  return part;
}

Part FrameMaker::part(std::size_t device, const SampleBlock& block, Steady arrived) const {
  Part part;
  if (!placed_) return part;
  const DeviceTime& time = device_times_[device];
  const std::int64_t ahead_us =
      time.is_known() ? time.bench_us(0) : bench_us_at(arrived) - block.last_us();
  for (std::size_t channel = 0; channel < channels_.size(); ++channel) {
    if (!channels_.source(channel).column || channels_.device(channel) != device) continue;
    for (std::size_t i = 0; i < block.samples(); ++i)
      part.values.push_back(received(streamed(channel, block, i), block.time_us(i) + ahead_us));
  }
  return part;
}

ReceivedValue FrameMaker::received(const Reading& reading, std::int64_t time_us) const {
  ReceivedValue value{reading.channel, time_us, std::nullopt};
  if (reading.quality == analysis::Quality::good) value.value_si = channels_.value_si(reading);
  return value;
}

std::int64_t FrameMaker::bench_us_at(Steady moment) const {
  return placed_->bench_us + bench_us_between(placed_->at, moment);
}

}  // namespace endgate::daemon
