#include "analysis/health_dull.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>
#include <vector>

#include "analysis/channel_health.h"
#include "analysis/motor_runs.h"

namespace endgate::analysis {
namespace {

constexpr double kEnough = 60;  // consecutive samples
constexpr double kMoves = 40;   // grains in a run: it warms

struct StepStretch {
  const RawChannel& channel;
  std::size_t first = 0;
  std::size_t last = 0;
};

StepStretch stretch_of(const RawChannel& channel, const StepMark& step) {
  const auto& time = channel.time_us;
  const auto first = std::lower_bound(time.begin(), time.end(), step.start_us);
  const auto last = std::upper_bound(first, time.end(), step.end_us);
  return {channel, static_cast<std::size_t>(first - time.begin()),
          static_cast<std::size_t>(last - time.begin())};
}

// Where one value begins that is repeated for longer than allowed.
std::optional<std::size_t> repeated_from(const StepStretch& stretch, double longest_s) {
  std::optional<std::size_t> since;
  const RawChannel& channel = stretch.channel;
  for (std::size_t i = stretch.first; i < stretch.last; ++i) {
    if (channel.quality[i] != Quality::good) continue;
    if (!since || channel.raw[i] != channel.raw[*since]) since = i;
    if (seconds_from(channel.time_us[*since], channel.time_us[i]) > longest_s) return since;
  }
  return std::nullopt;
}

// 0 where so few are missing that chance may be it.
double lost_share(const StepStretch& stretch) {
  const auto begin = stretch.channel.quality.begin();
  const auto lost = std::count_if(begin + static_cast<std::ptrdiff_t>(stretch.first),
                                  begin + static_cast<std::ptrdiff_t>(stretch.last),
                                  [](Quality quality) { return quality != Quality::good; });
  const auto all = std::max<std::size_t>(1, stretch.last - stretch.first);
  return lost < kLeastLost ? 0 : static_cast<double>(lost) / static_cast<double>(all);
}

// The largest number that divides all differences of raw values; 0 when there are none.
std::int64_t common_step(const RawChannel& channel) {
  std::int64_t step = 0;
  std::optional<std::int64_t> first;
  for (std::size_t i = 0; i < channel.raw.size(); ++i) {
    if (channel.quality[i] != Quality::good) continue;
    if (!first) first = channel.raw[i];
    step = std::gcd(step, channel.raw[i] - *first);
  }
  return step;
}

MaybeAccusation lost(Role role, const RawChannel& channel, const RawTrace& trace) {
  for (const StepMark& step : trace.steps) {
    if (step.end != StepEnd::complete || !matters_in(role, step.kind)) continue;
    const double share = lost_share(stretch_of(channel, step));
    if (share <= kLostShare) continue;
    const bool said_so =
        std::count(channel.quality.begin(), channel.quality.end(), Quality::no_value) > 0;
    const double at = seconds_from(origin_us(trace), step.start_us);
    return Accusation{role, said_so ? HealthState::no_value : HealthState::silent,
                      said("%.0f %% of the samples are missing from %.1f s on", 100 * share, at),
                      at};
  }
  return std::nullopt;
}

// With the outlet shut, or a unit weaker than its ramp, a meter stands at its lower end as it should.
bool may_stand_still(Role role, StepKind kind) { return role == Role::flow && rises(kind); }

// From the first complete step in which the channel matters to the last: in between it must move no
// less.
std::vector<StepStretch> lively_stretches(Role role, const RawChannel& channel,
                                          const RawTrace& trace) {
  std::vector<StepStretch> stretches;
  bool broken = true;
  for (const StepMark& step : trace.steps) {
    broken = broken || may_stand_still(role, step.kind);
    if (step.end != StepEnd::complete || !matters_in(role, step.kind)) continue;
    if (may_stand_still(role, step.kind)) continue;
    const StepStretch one = stretch_of(channel, step);
    if (broken)
      stretches.push_back(one);
    else
      stretches.back().last = one.last;
    broken = false;
  }
  return stretches;
}

// How long a reading that moves so evenly may stand still; missing where it hardly moves.
std::optional<double> longest_rest_s(const Samples& samples, const Window& run) {
  const SampleNoise noise = stated_noise(samples);
  const double grain = std::max(noise.sigma_si, noise.resolution_si);
  const IndexRange range = inside(samples.column.time_s, run);
  if (range.count() < kScatterCount) return std::nullopt;
  const double moved =
      std::abs(samples.column.value[range.last - 1] - samples.column.value[range.first]);
  if (!(moved > kMoves * grain)) return std::nullopt;
  return std::max(kLeastRest_s, kRest * grain * run.length_s() / moved);
}

// A head that warms does not stop warming while the motor runs.
MaybeAccusation resting(Role role, const Samples& samples, const RawChannel& channel,
                        const RawTrace& trace) {
  if (role != Role::head_temperature) return std::nullopt;
  const auto measures = [&](const StepMark& step) {
    return step.end == StepEnd::complete && motor_runs(step.kind) && matters_in(role, step.kind);
  };
  const auto first = std::ranges::find_if(trace.steps, measures);
  if (first == trace.steps.end()) return std::nullopt;
  const auto last = std::find_if(trace.steps.rbegin(), trace.steps.rend(), measures);
  const std::int64_t origin = origin_us(trace);
  const auto rest_s = longest_rest_s(
      samples, {seconds_from(origin, first->start_us), seconds_from(origin, last->end_us)});
  if (!rest_s) return std::nullopt;
  StepStretch run = stretch_of(channel, *first);
  run.last = stretch_of(channel, *last).last;
  const auto from = repeated_from(run, *rest_s);
  if (!from) return std::nullopt;
  const double at = seconds_from(origin, channel.time_us[*from]);
  return Accusation{
      role, HealthState::stuck,
      said("the same value for more than %.1f s from %.1f s while it warmed before", *rest_s, at),
      at};
}

// Share of consecutive samples that differ, over the share that noise alone makes.
double liveliness(const StepStretch& stretch, const SampleNoise& noise, double period_s) {
  double differ = 0;
  double count = 0;
  const RawChannel& channel = stretch.channel;
  for (std::size_t i = stretch.first + 1; i < stretch.last; ++i) {
    if (channel.quality[i] != Quality::good || channel.quality[i - 1] != Quality::good) continue;
    count += 1;
    differ += channel.raw[i] != channel.raw[i - 1] ? 1 : 0;
  }
  if (count < kEnough) return 1;
  const double r = noise.correlation_s > 0 ? std::exp(-period_s / noise.correlation_s) : 0;
  const double s = noise.sigma_si * std::sqrt(2 * (1 - r)) / noise.resolution_si;
  const double equal = std::erf(1 / (s * std::numbers::sqrt2)) -
                       s * std::sqrt(2 / std::numbers::pi) * (1 - std::exp(-1 / (2 * s * s)));
  return differ / count / (1 - equal);
}

MaybeAccusation repeating(Role role, const StepStretch& stretch, const Samples& samples,
                          double longest_s, std::int64_t origin) {
  const RawChannel& channel = stretch.channel;
  if (const auto from = repeated_from(stretch, longest_s)) {
    const double at = seconds_from(origin, channel.time_us[*from]);
    return Accusation{role, HealthState::stuck,
                      said("the same value for more than %.2f s from %.2f s", longest_s, at), at};
  }
  const double lively = liveliness(stretch, stated_noise(samples), samples.facts->period_s);
  if (lively >= kLively) return std::nullopt;
  return Accusation{role, HealthState::stuck,
                    said("changes in %.0f %% only of the cases its noise would make", 100 * lively),
                    seconds_from(origin, channel.time_us[stretch.first])};
}

}  // namespace

std::optional<double> longest_repeat_s(const ChannelFacts& facts, double step_si) {
  if (!(step_si > 0) || !(facts.noise_sigma_si >= step_si / 2)) return std::nullopt;
  const double likeliest = std::erf(step_si / (2 * std::numbers::sqrt2 * facts.noise_sigma_si));
  const double independent = std::log(kDullChance) / std::log(likeliest);
  return independent * std::max(facts.noise_correlation_s, facts.period_s);
}

MaybeAccusation dull(Role role, const Samples& samples, const RawTrace& trace) {
  const RawChannel* channel = find_channel(trace, samples.facts->id);
  if (channel == nullptr) return std::nullopt;
  if (auto found = lost(role, *channel, trace)) return found;
  if (auto found = resting(role, samples, *channel, trace)) return found;
  const auto longest = longest_repeat_s(*samples.facts, samples.resolution_si);
  if (channel->kind != RawKind::count || !longest) return std::nullopt;
  for (const StepStretch& stretch : lively_stretches(role, *channel, trace))
    if (auto found = repeating(role, stretch, samples, *longest, origin_us(trace))) return found;
  const double step = static_cast<double>(common_step(*channel));
  const double fine = std::max(samples.facts->noise_sigma_si, samples.resolution_si);
  if (step * samples.resolution_si <= kCoarse * fine) return std::nullopt;
  return Accusation{role, HealthState::stuck, said("moves in steps of %.0f counts only", step), 0};
}

}  // namespace endgate::analysis
