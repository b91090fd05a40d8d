#include "analysis/health_jump.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>

#include "analysis/channel_health.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr std::size_t kSide = 10;
constexpr std::size_t kBesideLeap = 24;
constexpr double kAboveRecurring = 4;

bool cannot_jump(Role role) {
  return role == Role::barometric_pressure || role == Role::relative_humidity ||
         role == Role::ambient_temperature || role == Role::head_temperature ||
         role == Role::case_temperature;
}

// The warming of the head bends when the load changes.
double allowance(Role role) { return role == Role::head_temperature ? 6 : 2; }

// The first sample from which on the sensor shows this unit.
std::size_t first_of_unit(Role role, const Samples& samples) {
  if (role != Role::head_temperature && role != Role::case_temperature) return 0;
  const std::vector<double>& times = samples.column.time_s;
  const double arrived = times.front() + kArrived * samples.facts->lag_s;
  return static_cast<std::size_t>(std::ranges::lower_bound(times, arrived) - times.begin());
}

// Coefficients of the value at `time_s` on the line through these samples.
std::vector<double> line_at(std::span<const double> times_s, double time_s) {
  std::vector<double> weights = slope_weights(times_s);
  const double n = static_cast<double>(times_s.size());
  const double ahead = time_s - sum_of(times_s) / n;
  for (double& weight : weights) weight = 1 / n + weight * ahead;
  return weights;
}

// How far the level after lies above the one before, in u, and in the unit of the channel.
struct Jump {
  double height_si = 0;
  double u_si = 0;
};

Jump jump_at(const Column& column, std::size_t i, const SampleNoise& noise) {
  const std::span<const double> times(&column.time_s[i - kSide], 2 * kSide);
  const double between = (column.time_s[i - 1] + column.time_s[i]) / 2;
  std::vector<double> weights = line_at(times.first(kSide), between);
  for (double& weight : weights) weight = -weight;
  const std::vector<double> after = line_at(times.last(kSide), between);
  weights.insert(weights.end(), after.begin(), after.end());
  const double height =
      sum_over(2 * kSide, [&](std::size_t k) { return weights[k] * column.value[i - kSide + k]; });
  const double squares =
      sum_over(2 * kSide, [&](std::size_t k) { return weights[k] * weights[k]; });
  const double random =
      noise.sigma_si * noise.sigma_si * combination_variance(times, weights, noise.correlation_s);
  return {height, std::sqrt(random + squares * noise.resolution_si * noise.resolution_si / 12)};
}

// Where nothing real leaps.
std::vector<Window> calm_windows(Role role, const RawTrace& trace) {
  std::vector<Window> windows;
  for (const StepMark& step : trace.steps) {
    if (step.end != StepEnd::complete || !step.ready_us || !matters_in(role, step.kind)) continue;
    Window window = window_of(step, origin_us(trace));
    if (role != Role::seal_pressure)
      window.start_s = seconds_from(origin_us(trace), *step.ready_us) + kSettled_s;
    windows.push_back(window);
  }
  return windows;
}

// A fast sensor whose lag shows between two samples.
struct LaggingSensor {
  double growth = 0;     // exp(T/L)
  double floor_si = 0;   // kJump s_d + step
  double longest_s = 0;  // a gap beyond hides what happened

  [[nodiscard]] bool leaps(const Column& column, std::size_t i) const {
    const auto change = [&](std::size_t k) {
      return std::abs(column.value[k] - column.value[k - 1]);
    };
    if (column.time_s[i + 1] - column.time_s[i - 2] > longest_s) return false;
    const double here = change(i);
    if (!(here > kLeap * growth * std::max(change(i - 1), change(i + 1)) + floor_si)) return false;
    return here > kAboveRecurring * recurring(column, i);
  }

  // Third largest change of those around: what ripple does again and again.
  [[nodiscard]] static double recurring(const Column& column, std::size_t i) {
    std::array<double, 3> largest{};  // falling
    const std::size_t end = std::min(column.value.size(), i + kBesideLeap + 1);
    for (std::size_t k = std::max<std::size_t>(i, kBesideLeap + 1) - kBesideLeap; k < end; ++k) {
      const double change = std::abs(column.value[k] - column.value[k - 1]);
      if (k == i || change <= largest[2]) continue;
      largest[2] = change;
      std::sort(largest.begin(), largest.end(), std::greater<>());
    }
    return largest[2];
  }
};

LaggingSensor follower_of(const Samples& samples) {
  const SampleNoise noise = stated_noise(samples);
  const double period = samples.facts->period_s;
  const double r = noise.correlation_s > 0 ? std::exp(-period / noise.correlation_s) : 0;
  return {std::exp(period / samples.facts->lag_s),
          kJump * noise.sigma_si * std::sqrt(2 * (1 - r)) + noise.resolution_si, 4 * period};
}

}  // namespace

MaybeAccusation jumped(Role role, const Samples& samples) {
  const Column& column = samples.column;
  if (!cannot_jump(role) || column.value.size() < 2 * kSide) return std::nullopt;
  const SampleNoise noise = stated_noise(samples);
  for (std::size_t i = first_of_unit(role, samples) + kSide; i + kSide <= column.value.size();
       ++i) {
    const Jump jump = jump_at(column, i, noise);
    const double harmless = allowance(role) * samples.facts->calibration.u_offset_si;
    if (std::abs(jump.height_si) <= std::max(kJump * jump.u_si, harmless)) continue;
    return Accusation{role, HealthState::jumped,
                      said("jumped by %.3g", jump.height_si) + unit_after(role) +
                          said(" at %.1f s", column.time_s[i]),
                      column.time_s[i]};
  }
  return std::nullopt;
}

MaybeAccusation leaped(Role role, const Samples& samples, const RawTrace& trace) {
  if (cannot_jump(role) || !(samples.facts->lag_s > samples.facts->period_s / 2))
    return std::nullopt;
  const LaggingSensor follower = follower_of(samples);
  const Column& column = samples.column;
  for (const Window& window : calm_windows(role, trace)) {
    const IndexRange range = inside(column.time_s, window);
    for (std::size_t i = range.first + 2; i + 1 < range.last; ++i) {
      if (!follower.leaps(column, i)) continue;
      const double height = column.value[i] - column.value[i - 1];
      return Accusation{role, HealthState::jumped,
                        said("leaped by %.3g", height) + unit_after(role) +
                            said(" from one sample to the next at %.2f s", column.time_s[i]),
                        column.time_s[i]};
    }
  }
  return std::nullopt;
}

}  // namespace endgate::analysis
