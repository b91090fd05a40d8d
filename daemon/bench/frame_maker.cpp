#include "daemon/bench/frame_maker.h"

#include <algorithm>
#include <cmath>

#include "daemon/bench/steady_time.h"

namespace endgate::daemon {
namespace {

const DeviceAnswer* part_of(const RoundAnswer& answer, std::size_t device) {
  const auto found = std::ranges::find(answer.devices, device, &DeviceAnswer::device);
  return found == answer.devices.end() ? nullptr : &*found;
}

FrameMaker::Steady halfway(const DeviceAnswer& part) {
  return part.sent + (part.arrived - part.sent) / 2;
}

// The steady moment at which bench time is the frame's.
FrameMaker::Steady moment_of_frame(const BenchDefinition& bench, const RoundAnswer& answer) {
  if (!bench.clock) return answer.arrived;
  const DeviceAnswer* part = part_of(answer, device_index(bench, bench.clock->counter.device));
  return part == nullptr ? answer.arrived : halfway(*part);
}

RegisterType type_of(SampleType type) {
  if (type == SampleType::float32) return RegisterType::f32;
  return type == SampleType::int16 ? RegisterType::i16 : RegisterType::i32;
}

}  // namespace

std::chrono::nanoseconds silent_after(const analysis::ChannelFacts& facts, double declared_rate) {
  return std::chrono::nanoseconds(
      std::llround((facts.silent_after_s + facts.period_s / declared_rate) * 1e9));
}

FrameMaker::FrameMaker(const BenchDefinition& bench,
                       const std::vector<analysis::ChannelCalibration>& calibrations)
    : bench_(bench),
      channels_(bench, calibrations),
      clock_(bench.clock),
      heard_(bench.channels.size()),
      device_times_(bench.devices.size()),
      counters_(bench.devices.size()) {
  for (const ChannelDefinition& channel : bench.channels) rates_.emplace_back(channel.source);
}

std::optional<Picture> FrameMaker::make(const RoundAnswer& answer) {
  const auto time = time_of(answer);
  if (!time) return std::nullopt;
  Picture picture;
  picture.clock_fault = time->fault;
  Frame& frame = picture.frame;
  frame.bench_time_us = time->time_us;
  placed_ = Placed{time->time_us, moment_of_frame(bench_, answer)};
  frame.arrived = answer.arrived;
  frame.interlocks = interlocks_of(answer.image);
  fill_readings(frame, answer);
  fill_waveform(frame, answer);
  fill_values(frame);
  picture.read_backs = read_backs_of(answer.image);
  return picture;
}

std::optional<BenchClock::Update> FrameMaker::time_of(const RoundAnswer& answer) {
  if (!bench_.clock) return clock_.read(answer.arrived);
  const RegisterSource& counter = bench_.clock->counter;
  const auto raw = answer.image.raw(device_index(bench_, counter.device), counter);
  if (!raw) return std::nullopt;
  const DeviceAnswer* part = part_of(answer, device_index(bench_, counter.device));
  return clock_.read({static_cast<std::uint32_t>(*raw), part != nullptr ? part->sent : answer.sent,
                      part != nullptr ? part->arrived : answer.arrived});
}

std::optional<std::int64_t> FrameMaker::time_of_device(const Frame& frame,
                                                       const RoundAnswer& answer,
                                                       const DeviceAnswer& part) {
  const DeviceDefinition& device = bench_.devices[part.device];
  const std::int64_t halfway_us =
      frame.bench_time_us + bench_us_between(moment_of_frame(bench_, answer), halfway(part));
  DeviceTime& time = device_times_[part.device];
  if (!part.blocks.empty()) {
    const std::int64_t last_us = part.blocks.back()->last_us();
    time.pair(last_us, halfway_us, halfway_us - last_us);
    return time.bench_us(last_us);
  }
  if (!device.time) return halfway_us;
  const RegisterSource& counter = device.time->counter;
  const auto raw = answer.image.raw(part.device, counter);
  if (!raw) return halfway_us;
  const std::int64_t ticks =
      counters_[part.device].add(static_cast<std::uint32_t>(*raw), 16 * registers_of(counter.type));
  const auto device_us = std::llround(static_cast<double>(ticks) * device.time->tick_s * 1e6);
  time.pair(device_us, halfway_us, bench_us_between(part.sent, part.arrived));
  return time.bench_us(device_us);
}

std::int64_t FrameMaker::bench_us_between(Steady from, Steady to) const {
  const double seconds = std::chrono::duration<double>(to - from).count();
  return std::llround(seconds * declared_rate(bench_) * 1e6);
}

void FrameMaker::fill_readings(Frame& frame, const RoundAnswer& answer) {
  std::vector<std::optional<std::int64_t>> times(bench_.devices.size());
  for (const DeviceAnswer& part : answer.devices)
    times[part.device] = time_of_device(frame, answer, part);
  for (const std::size_t channel : answer.channels) {
    const std::size_t device = channels_.device(channel);
    const DeviceAnswer* part = part_of(answer, device);
    if (channels_.source(channel).column) {
      if (part != nullptr) fill_stream(frame, channel, *part);
      continue;
    }
    Reading reading = channels_.read(channel, answer.image);
    reading.time_us = times[device];
    frame.readings.push_back(
        rates_[channel].converted(reading, reading.time_us.value_or(frame.bench_time_us)));
  }
}

// Every sample of every block, each with its own time.
void FrameMaker::fill_stream(Frame& frame, std::size_t channel, const DeviceAnswer& answer) {
  const DeviceTime& time = device_times_[answer.device];
  for (const auto& block : answer.blocks) {
    for (std::size_t i = 0; i < block->samples(); ++i) {
      Reading reading = streamed(channel, *block, i);
      reading.time_us = time.bench_us(block->time_us(i));
      frame.readings.push_back(reading);
    }
  }
}

// A column of another type than the file says has no value.
Reading FrameMaker::streamed(std::size_t channel, const SampleBlock& block,
                             std::size_t sample) const {
  const RegisterSource& source = channels_.source(channel);
  const auto column = static_cast<std::size_t>(*source.column);
  const bool fits =
      column < block.columns.size() && type_of(block.columns[column].type) == source.type;
  if (!fits) return {channel, 0, analysis::Quality::no_value};
  return channels_.read(channel, raw_of(block.columns[column], sample));
}

void FrameMaker::fill_waveform(Frame& frame, const RoundAnswer& answer) {
  if (!bench_.current_waveform) return;
  const RegisterSource& source = bench_.current_waveform->source;
  const DeviceAnswer* part = part_of(answer, device_index(bench_, source.device));
  if (part == nullptr) return;
  const auto column = static_cast<std::size_t>(*source.column);
  for (const auto& block : part->blocks) {
    const bool fits =
        column < block->columns.size() && type_of(block->columns[column].type) == source.type;
    if (fits)
      frame.waveform.push_back(
          {device_times_[part->device].bench_us(block->first_us), block, column});
  }
}

Interlocks FrameMaker::interlocks_of(const RegisterImage& image) const {
  const auto bit = [&](const std::optional<BitSource>& source) -> std::optional<bool> {
    if (!source) return std::nullopt;
    return image.bit(device_index(bench_, source->device), *source);
  };
  const InterlockDefinition& locks = bench_.interlocks;
  return {bit(locks.cover_closed), bit(locks.emergency_stop_clear), bit(locks.motor_relay_closed),
          bit(locks.lease_live),   bit(locks.relay_latched_open),   bit(locks.fixture_clamped)};
}

ReadBacks FrameMaker::read_backs_of(const RegisterImage& image) const {
  ReadBacks values(bench_.actuators.size());
  for (std::size_t i = 0; i < values.size(); ++i) {
    const ActuatorDefinition& actuator = bench_.actuators[i];
    if (actuator.read_back) {
      const auto raw =
          image.raw(device_index(bench_, actuator.read_back->device), *actuator.read_back);
      if (raw) values[i] = number_of(actuator.read_back->type, *raw) * actuator.scale;
    } else if (actuator.read_back_bit) {
      const BitSource& source = *actuator.read_back_bit;
      const auto bit = image.bit(device_index(bench_, source.device), source);
      if (bit) values[i] = *bit ? 1 : 0;
    }
  }
  return values;
}

void FrameMaker::fill_values(Frame& frame) {
  for (const Reading& reading : frame.readings)
    if (reading.quality == analysis::Quality::good)
      heard_[reading.channel] = Heard{channels_.value_si(reading), frame.arrived};
  for (const analysis::RoleFacts& role : analysis::kRoles) {
    const auto channel = channels_.channel_of(role.role);
    if (!channel || is_silent(*channel, frame.arrived)) continue;
    frame.value_si[static_cast<std::size_t>(role.role)] = heard_[*channel]->value_si;
  }
  // A channel whose newest sample says "no value" has none now, whatever it said before.
  std::vector<analysis::Quality> newest(heard_.size(), analysis::Quality::good);
  for (const Reading& reading : frame.readings) newest[reading.channel] = reading.quality;
  for (const analysis::RoleFacts& role : analysis::kRoles) {
    const auto channel = channels_.channel_of(role.role);
    if (channel && newest[*channel] != analysis::Quality::good)
      frame.value_si[static_cast<std::size_t>(role.role)].reset();
  }
}

bool FrameMaker::is_silent(std::size_t channel, Steady now) const {
  const auto& heard = heard_[channel];
  return !heard || now - heard->at > silent_after(channels_.facts(channel), declared_rate(bench_));
}

std::optional<std::size_t> FrameMaker::silent_channel(Steady now) const {
  for (std::size_t i = 0; i < heard_.size(); ++i)
    if (is_silent(i, now)) return i;
  return std::nullopt;
}

void FrameMaker::forget() {
  heard_.assign(heard_.size(), std::nullopt);
  placed_.reset();
  clock_.start_over();
  for (EventRate& rate : rates_) rate.forget();
  for (DeviceTime& time : device_times_) time.forget();
}

}  // namespace endgate::daemon
