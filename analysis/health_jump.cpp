#include "analysis/health_jump.h"

#include <algorithm>
#include <cmath>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr std::size_t kSide = 10;

bool cannot_jump(Role role) {
  return role == Role::barometric_pressure || role == Role::relative_humidity ||
         role == Role::ambient_temperature || role == Role::head_temperature ||
         role == Role::case_temperature;
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

}  // namespace

MaybeAccusation jumped(Role role, const Samples& samples) {
  const Column& column = samples.column;
  if (!cannot_jump(role) || column.value.size() < 2 * kSide) return std::nullopt;
  const SampleNoise noise = stated_noise(samples);
  for (std::size_t i = kSide; i + kSide <= column.value.size(); ++i) {
    const Jump jump = jump_at(column, i, noise);
    const double harmless = 2 * samples.facts->calibration.u_offset_si;
    if (std::abs(jump.height_si) <= std::max(kJump * jump.u_si, harmless)) continue;
    return Accusation{role, HealthState::jumped,
                      said("jumped by %.3g (SI) at %.1f s", jump.height_si, column.time_s[i]),
                      column.time_s[i]};
  }
  return std::nullopt;
}

}  // namespace endgate::analysis
