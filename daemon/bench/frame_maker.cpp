#include "daemon/bench/frame_maker.h"

#include <cmath>

namespace endgate::daemon {
namespace {

double declared_rate(const BenchDefinition& bench) {
  return bench.clock ? bench.clock->declared_rate : 1;
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
      heard_(bench.channels.size()) {}

std::optional<Picture> FrameMaker::make(const RoundAnswer& answer) {
  const auto time = time_of(answer);
  if (!time) return std::nullopt;
  Picture picture;
  picture.clock_fault = time->fault;
  Frame& frame = picture.frame;
  frame.bench_time_us = time->time_us;
  frame.arrived = answer.arrived;
  frame.interlocks = interlocks_of(answer.image);
  for (const std::size_t channel : answer.channels)
    frame.readings.push_back(channels_.read(channel, answer.image));
  fill_values(frame);
  picture.read_backs = read_backs_of(answer.image);
  return picture;
}

std::optional<BenchClock::Update> FrameMaker::time_of(const RoundAnswer& answer) {
  if (!bench_.clock) return clock_.read(answer.arrived);
  const RegisterSource& counter = bench_.clock->counter;
  const auto raw = answer.image.raw(device_index(bench_, counter.device), counter);
  if (!raw) return std::nullopt;
  return clock_.read({static_cast<std::uint32_t>(*raw), answer.sent, answer.arrived});
}

Interlocks FrameMaker::interlocks_of(const RegisterImage& image) const {
  const auto bit = [&](const std::optional<BitSource>& source) -> std::optional<bool> {
    if (!source) return std::nullopt;
    return image.bit(device_index(bench_, source->device), *source);
  };
  const InterlockDefinition& locks = bench_.interlocks;
  return {bit(locks.cover_closed), bit(locks.emergency_stop_clear), bit(locks.motor_relay_closed),
          bit(locks.lease_live), bit(locks.relay_latched_open)};
}

ReadBacks FrameMaker::read_backs_of(const RegisterImage& image) const {
  ReadBacks values(bench_.actuators.size());
  for (std::size_t i = 0; i < values.size(); ++i) {
    const ActuatorDefinition& actuator = bench_.actuators[i];
    if (actuator.read_back) {
      const auto raw =
          image.raw(device_index(bench_, actuator.read_back->device), *actuator.read_back);
      if (raw) values[i] = static_cast<double>(*raw) * actuator.scale;
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
  // A channel that says "no value" now has none now, whatever it said before.
  for (const Reading& reading : frame.readings) {
    const analysis::Role role = channels_.facts(reading.channel).role;
    if (reading.quality != analysis::Quality::good && channels_.channel_of(role) == reading.channel)
      frame.value_si[static_cast<std::size_t>(role)].reset();
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
  clock_.start_over();
}

}  // namespace endgate::daemon
