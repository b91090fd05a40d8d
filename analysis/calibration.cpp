#include "analysis/calibration.h"

#include <algorithm>
#include <bit>
#include <cmath>

#include "analysis/odd_samples.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {
namespace {

constexpr double kAbsurd = 1e12;  // no channel in SI reaches it
constexpr double kZeroSettle_s = 0.5;

bool reads_zero_when_off(Role role) {
  return role == Role::discharge_pressure || role == Role::supply_current ||
         role == Role::seal_pressure;
}

double corrected(const ChannelFacts& facts, double raw) {
  const double nominal = facts.scale * raw + facts.offset_si;
  return facts.calibration.gain * nominal + facts.calibration.offset_si;
}

Column column_of(const RawChannel& channel, const ChannelFacts& facts, std::int64_t origin) {
  const std::size_t count =
      std::min({channel.time_us.size(), channel.raw.size(), channel.quality.size()});
  Column column;
  column.time_s.reserve(count);
  column.value.reserve(count);
  for (std::size_t i = 0; i < count; ++i) {
    const double value = corrected(facts, number_of(channel.kind, channel.raw[i]));
    if (channel.quality[i] != Quality::good || !(std::abs(value) < kAbsurd)) continue;
    column.time_s.push_back(seconds_from(origin, channel.time_us[i]));
    column.value.push_back(value);
  }
  return column;
}

void leave_odd_ones_out(Samples& samples) {
  Column& column = samples.column;
  const double floor = std::max(samples.facts->noise_sigma_si, samples.resolution_si);
  const std::vector<std::size_t> odd = odd_samples(column.value, floor);
  if (odd.empty()) return;
  Column kept;
  auto next = odd.begin();
  for (std::size_t i = 0; i < column.value.size(); ++i) {
    if (next != odd.end() && *next == i) {
      samples.odd_time_s.push_back(column.time_s[i]);
      ++next;
      continue;
    }
    kept.time_s.push_back(column.time_s[i]);
    kept.value.push_back(column.value[i]);
  }
  column = std::move(kept);
}

const StepMark* zero_step(const RawTrace& trace) {
  const auto found = std::find_if(trace.steps.begin(), trace.steps.end(), [](const auto& step) {
    return step.kind == StepKind::zero && step.end == StepEnd::complete;
  });
  return found == trace.steps.end() ? nullptr : &*found;
}

// The puff of clamping dies in the first moments, unless the step is too short to spare them.
Window zero_window(const StepMark& step, std::int64_t origin) {
  Window window{seconds_from(origin, step.start_us), seconds_from(origin, step.end_us)};
  if (window.length_s() > 2 * kZeroSettle_s) window.start_s += kZeroSettle_s;
  return window;
}

void take_zero_off(Samples& samples, const Window& window) {
  if (inside(samples.column.time_s, window).count() < 3) return;
  const SampleNoise noise{samples.facts->noise_sigma_si, samples.facts->noise_correlation_s,
                          samples.resolution_si};
  const std::optional<Moments> zero = moments_in(samples.column, window, noise, 0);
  if (!zero) return;
  for (double& value : samples.column.value) value -= zero->mean;
  samples.zeroed = true;
  samples.zero_si = zero->mean;
  samples.u_zero_si = zero->u_mean;
}

}  // namespace

double number_of(RawKind kind, std::int64_t raw) {
  switch (kind) {
    case RawKind::count:
      return static_cast<double>(raw);
    case RawKind::float32:
      return static_cast<double>(std::bit_cast<float>(static_cast<std::uint32_t>(raw)));
    case RawKind::float64:
      return std::bit_cast<double>(raw);
  }
  return std::nan("");
}

std::int64_t origin_us(const RawTrace& trace) {
  if (!trace.steps.empty()) return trace.steps.front().start_us;
  for (const RawChannel& channel : trace.channels)
    if (!channel.time_us.empty()) return channel.time_us.front();
  return 0;
}

double seconds_from(std::int64_t origin_us, std::int64_t time_us) {
  // As doubles: a corrupt stamp must not overflow an integer.
  return (static_cast<double>(time_us) - static_cast<double>(origin_us)) * 1e-6;
}

const RawChannel* find_channel(const RawTrace& trace, const std::string& id) {
  const auto found = std::find_if(trace.channels.begin(), trace.channels.end(),
                                  [&](const RawChannel& channel) { return channel.id == id; });
  return found == trace.channels.end() ? nullptr : &*found;
}

double resolution_of(const ChannelFacts& facts, RawKind kind) {
  return kind == RawKind::count ? std::abs(facts.scale * facts.calibration.gain) : 0;
}

SamplesByRole calibrate(const RawTrace& trace, const BenchFacts& bench) {
  SamplesByRole all;
  const std::int64_t origin = origin_us(trace);
  const StepMark* zero = zero_step(trace);
  for (const ChannelFacts& facts : bench.channels) {
    Samples& samples = all[index_of(facts.role)];
    if (samples.facts != nullptr) continue;  // the first channel of a role is the one
    samples.facts = &facts;
    const RawChannel* channel = find_channel(trace, facts.id);
    if (channel == nullptr) continue;
    samples.column = column_of(*channel, facts, origin);
    samples.resolution_si = resolution_of(facts, channel->kind);
    leave_odd_ones_out(samples);
    if (zero != nullptr && reads_zero_when_off(facts.role))
      take_zero_off(samples, zero_window(*zero, origin));
  }
  return all;
}

}  // namespace endgate::analysis
