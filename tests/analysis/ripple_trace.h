// A made test (measure_trace.h) on a bench that also samples the motor's current fast.

#pragma once

#include <algorithm>
#include <bit>
#include <cmath>

#include "tests/analysis/measure_trace.h"
#include "tests/analysis/ripple_made.h"

namespace endgate::analysis::made {

inline constexpr double kWaveformHz = 20000;
inline constexpr std::size_t kBurst = 10000;

inline Context listening(Context context, int cylinders = 2) {
  context.bench.current_waveform = WaveformFacts{"motor_current", 0.002, 0, -60, 60, 0.5, 1e-4};
  context.model.ripple = {12, 28, 75};
  context.model.nominal.cylinders = cylinders;
  for (const char* id : {"ripple_speed_400", "ripple_lock_400", "cylinder_imbalance_400",
                         "commutator_irregularity_400"})
    context.model.metrics.emplace_back(id);
  return context;
}

inline double speed_in(const RawTrace& trace, const StepMark& step) {
  const auto channel =
      std::ranges::find_if(trace.channels, [](const RawChannel& one) { return one.id == "speed"; });
  const auto at = std::ranges::lower_bound(channel->time_us, step.end_us - 1'000'000);
  return std::bit_cast<double>(
      channel->raw[static_cast<std::size_t>(at - channel->time_us.begin())]);
}

// `end_us`: of the last sample.
inline void add_burst(RawChannel& channel, std::int64_t end_us, const ripple_made::Motor& motor,
                      std::mt19937_64& random) {
  const auto current = ripple_made::waveform(motor, kWaveformHz, kBurst, random);
  const auto period_us = static_cast<std::int64_t>(1e6 / kWaveformHz);
  for (std::size_t i = 0; i < kBurst; ++i) {
    channel.time_us.push_back(end_us - static_cast<std::int64_t>(kBurst - 1 - i) * period_us);
    channel.raw.push_back(std::llround(current[i] / 0.002));
    channel.quality.push_back(Quality::good);
  }
}

// Two bursts in every hold, at the speed that the tacho reads there.
inline void add_waveform(RawTrace& trace, ripple_made::Motor motor, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  RawChannel channel;
  channel.id = "motor_current";
  for (const StepMark& step : trace.steps) {
    if (step.kind != StepKind::hold) continue;
    motor.speed_rev_s = speed_in(trace, step);
    add_burst(channel, step.end_us - 1'000'000, motor, random);
    add_burst(channel, step.end_us - 100'000, motor, random);
  }
  trace.channels.push_back(std::move(channel));
}

inline void remove_tacho(RawTrace& trace, Context& context) {
  std::erase_if(context.bench.channels,
                [](const ChannelFacts& facts) { return facts.role == Role::speed; });
  std::erase_if(trace.channels, [](const RawChannel& one) { return one.id == "speed"; });
}

}  // namespace endgate::analysis::made
