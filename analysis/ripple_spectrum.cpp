#include "analysis/ripple_spectrum.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <unsupported/Eigen/FFT>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kKept = 3;  // times the floor

bool factors_are_small(std::size_t n) {
  for (const std::size_t factor : {2u, 3u, 5u})
    while (n % factor == 0) n /= factor;
  return n == 1;
}

// Even, and quick to transform.
std::size_t transform_length(std::size_t n) {
  n -= n % 2;
  while (!factors_are_small(n)) n -= 2;
  return n;
}

std::vector<double> hann_power(std::span<const double> samples) {
  const std::size_t n = samples.size();
  const double mean = mean_of(samples).value_or(0);
  std::vector<double> windowed(n);
  for (std::size_t i = 0; i < n; ++i)
    windowed[i] =
        (samples[i] - mean) * (0.5 - 0.5 * std::cos(2 * std::numbers::pi * static_cast<double>(i) /
                                                    static_cast<double>(n)));
  Eigen::FFT<double> fft;
  std::vector<std::complex<double>> lines;
  fft.fwd(lines, windowed);
  std::vector<double> power(n / 2);
  for (std::size_t k = 0; k < power.size(); ++k) power[k] = std::norm(lines[k]);
  return power;
}

double floor_of(std::span<const double> block) {
  std::vector<double> sorted(block.begin(), block.end());
  const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 2);
  std::nth_element(sorted.begin(), middle, sorted.end());
  return *middle / std::numbers::ln2;
}

double position_of(const std::vector<double>& power, std::size_t k) {
  const bool up = power[k + 1] >= power[k - 1];
  const double a = std::sqrt((up ? power[k + 1] : power[k - 1]) / power[k]);
  const double delta = (2 * a - 1) / (a + 1);
  return static_cast<double>(k) + (up ? delta : -delta);
}

void add_peaks(const std::vector<double>& power, std::size_t from, std::size_t to, double floor,
               std::vector<SpectrumPeak>& peaks) {
  for (std::size_t k = std::max<std::size_t>(from, 2); k < to && k + 1 < power.size(); ++k) {
    const bool highest = power[k] > power[k - 1] && power[k] >= power[k + 1];
    if (highest && power[k] > kKept * floor)
      peaks.push_back({position_of(power, k), power[k] / std::max(floor, 1e-300)});
  }
}

}  // namespace

RippleSpectrum ripple_spectrum(std::span<const double> samples, double sample_rate_hz,
                               std::size_t block_bins) {
  const std::size_t n = transform_length(samples.size());
  const std::vector<double> power = hann_power(samples.first(n));
  RippleSpectrum out{sample_rate_hz / static_cast<double>(n), {}};
  for (std::size_t from = 0; from < power.size(); from += block_bins) {
    const std::size_t to = std::min(power.size(), from + block_bins);
    add_peaks(power, from, to, floor_of(std::span(power).subspan(from, to - from)), out.peaks);
  }
  return out;
}

}  // namespace endgate::analysis
