#include "analysis/window_moments.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kParabolic = 1.2;    // variance of the parabolic mean over that of the plain one
constexpr double kBlockFactor = 1.3;  // t over normal at 95 %, for the few degrees of freedom

double dot(std::span<const double> left, std::span<const double> right) {
  return sum_over(left.size(), [&](std::size_t i) { return left[i] * right[i]; });
}

// What is left of the samples after their own line.
std::vector<double> about_line(std::span<const double> time_s, std::span<const double> value,
                               double slope_s) {
  const double mean_time = mean_of(time_s).value_or(0);
  const double mean = mean_of(value).value_or(0);
  std::vector<double> rest(value.begin(), value.end());
  for (std::size_t i = 0; i < rest.size(); ++i) rest[i] -= mean + slope_s * (time_s[i] - mean_time);
  return rest;
}

// The square of time, less what a line takes of it.
std::vector<double> bend_of(std::span<const double> time_s) {
  const double mean_time = mean_of(time_s).value_or(0);
  std::vector<double> square;
  for (const double t : time_s) square.push_back((t - mean_time) * (t - mean_time));
  return about_line(time_s, square, dot(slope_weights(time_s), square));
}

double parameters_of(Path path) { return path == Path::bent ? 3 : 2; }

// What is left of the samples after their own path.
std::vector<double> about_path(std::span<const double> time_s, std::span<const double> value,
                               double slope_s, Path path) {
  std::vector<double> rest = about_line(time_s, value, slope_s);
  if (path == Path::straight) return rest;
  const std::vector<double> bend = bend_of(time_s);
  const double length = dot(bend, bend);
  const double share = length > 0 ? dot(bend, rest) / length : 0;
  for (std::size_t i = 0; i < rest.size(); ++i) rest[i] -= share * bend[i];
  return rest;
}

double root_mean_square(std::span<const double> rest, double parameters) {
  return std::sqrt(dot(rest, rest) / std::max(1.0, static_cast<double>(rest.size()) - parameters));
}

// The sigma of a sample that would make block means scatter as they do, (2).
double sigma_by_blocks(std::span<const double> rest, double parameters, double of_mean) {
  std::vector<double> means;
  for (std::size_t block = 0; block < kBlocks; ++block) {
    const std::size_t first = rest.size() * block / kBlocks;
    const std::size_t last = rest.size() * (block + 1) / kBlocks;
    means.push_back(*mean_of(rest.subspan(first, last - first)));
  }
  const double sigma = root_mean_square(means, parameters);
  return kBlockFactor * sigma * std::sqrt(kParabolic / static_cast<double>(kBlocks) / of_mean);
}

// `of_mean`: variance of the mean for a sigma of 1.
double sigma_in(std::span<const double> rest, const SampleNoise& noise, Path path, double of_mean) {
  if (rest.size() < kScatterCount) return noise.sigma_si;
  const double scatter = root_mean_square(rest, parameters_of(path));
  const double expected = std::hypot(noise.sigma_si, noise.resolution_si / std::sqrt(12.0));
  if (scatter <= kScatterAllowance * expected) return noise.sigma_si;
  if (rest.size() < kBlocks * kInBlock || !(of_mean > 0)) return scatter;
  const double by_blocks = sigma_by_blocks(rest, parameters_of(path), of_mean);
  return std::clamp(by_blocks, noise.sigma_si, std::max(noise.sigma_si, scatter));
}

double step_variance(const SampleNoise& noise, std::size_t count) {
  const double variance = noise.resolution_si * noise.resolution_si / 12;
  const bool dithered = noise.sigma_si >= noise.resolution_si / 2;
  return dithered ? variance / static_cast<double>(count) : variance;
}

std::optional<Moments> single_value(const Column& column, const Window& window,
                                    const SampleNoise& noise, std::size_t count) {
  const std::optional<double> value = interpolate(column, window.middle_s());
  if (!value) return std::nullopt;
  const double u = std::sqrt(noise.sigma_si * noise.sigma_si + step_variance(noise, 1));
  return Moments{*value, u, 0, 0, count};
}

}  // namespace

double combination_variance(std::span<const double> time_s, std::span<const double> coefficients,
                            double correlation_s) {
  Sum sum;
  double carried = 0;  // sum over j < i of c_j exp(-(t_i - t_j) / tau)
  for (std::size_t i = 0; i < coefficients.size(); ++i) {
    if (i > 0 && correlation_s > 0)
      carried = (carried + coefficients[i - 1]) *
                std::exp(-std::max(0.0, time_s[i] - time_s[i - 1]) / correlation_s);
    sum.add(coefficients[i] * (coefficients[i] + 2 * carried));
  }
  return std::max(0.0, sum.value());
}

std::vector<double> parabolic_weights(std::span<const double> time_s, const Window& window) {
  std::vector<double> weights;
  weights.reserve(time_s.size());
  for (const double t : time_s)
    weights.push_back(std::max(0.0, (t - window.start_s) * (window.end_s - t)));
  const double total = sum_of(weights);
  const double flat = 1 / static_cast<double>(std::max<std::size_t>(1, weights.size()));
  for (double& weight : weights) weight = total > 0 ? weight / total : flat;
  return weights;
}

std::vector<double> slope_weights(std::span<const double> time_s) {
  std::vector<double> weights(time_s.begin(), time_s.end());
  const double mean = mean_of(time_s).value_or(0);
  for (double& weight : weights) weight -= mean;
  const double spread = dot(weights, weights);
  for (double& weight : weights) weight = spread > 0 ? weight / spread : 0;
  return weights;
}

IndexRange inside(std::span<const double> time_s, const Window& window) {
  const auto first = std::lower_bound(time_s.begin(), time_s.end(), window.start_s);
  const auto last = std::lower_bound(first, time_s.end(), window.end_s);
  return {static_cast<std::size_t>(first - time_s.begin()),
          static_cast<std::size_t>(last - time_s.begin())};
}

std::optional<double> interpolate(const Column& column, double time_s) {
  if (column.time_s.empty()) return std::nullopt;
  const auto after = std::lower_bound(column.time_s.begin(), column.time_s.end(), time_s);
  const auto i = static_cast<std::size_t>(after - column.time_s.begin());
  if (i == 0) return column.value.front();
  if (i == column.time_s.size()) return column.value.back();
  const double gap = column.time_s[i] - column.time_s[i - 1];
  const double share = gap > 0 ? (time_s - column.time_s[i - 1]) / gap : 1;
  return column.value[i - 1] + share * (column.value[i] - column.value[i - 1]);
}

std::optional<Moments> moments_in(const Column& column, const Window& window,
                                  const SampleNoise& noise, double lag_s, Path path) {
  const IndexRange range = inside(column.time_s, window);
  if (range.count() < 3) return single_value(column, window, noise, range.count());
  const std::span time(column.time_s.data() + range.first, range.count());
  const std::span value(column.value.data() + range.first, range.count());
  std::vector<double> mean_weights = parabolic_weights(time, window);
  const std::vector<double> weights = slope_weights(time);
  Moments moments{.count = range.count()};
  moments.slope_s = dot(weights, value);
  const double of_mean = combination_variance(time, mean_weights, noise.correlation_s);
  const double sigma =
      sigma_in(about_path(time, value, moments.slope_s, path), noise, path, of_mean);
  for (std::size_t i = 0; i < weights.size(); ++i) mean_weights[i] += lag_s * weights[i];
  moments.mean = dot(mean_weights, value);
  const double variance = combination_variance(time, mean_weights, noise.correlation_s);
  moments.u_mean = std::sqrt(sigma * sigma * variance + step_variance(noise, range.count()));
  moments.u_slope_s = sigma * std::sqrt(combination_variance(time, weights, noise.correlation_s));
  return moments;
}

}  // namespace endgate::analysis
