#include "analysis/ripple_lock.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <numbers>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kGridBins = 0.05;       // step of N, in bins of the line M
constexpr double kSameBins = 0.5;        // as near is the same lock
constexpr double kFarBins = 1;           // a peak further away is another line
constexpr double kPeaksPerBin = 0.4;     // local maxima of noise
constexpr double kStrangers = 0.03;      // share of bins with a line of something else
constexpr double kMissed = 0.15;         // a line that is there and does not show
constexpr double kEvidenceCounts = 0.5;  // lines of one comb are not independent

// How likely is a line at this multiple?
double presence(int order, int m) {
  if (order == m) return 0.95;
  if (order <= 2) return 0.7;
  if (order == 2 * m) return 0.5;
  return std::abs(order - m) <= 2 ? 0.4 : 0.15;
}

double density_if_line(double off_bins, double z) {
  const double spread = std::sqrt(0.15 * 0.15 + 0.4 / z);
  const double u = off_bins / spread;
  return 0.5 * std::pow(1 + z, -1.5) * std::exp(-0.5 * u * u) /
         (spread * std::sqrt(2 * std::numbers::pi));
}

double density_if_not(double z) {
  return kPeaksPerBin * ((1 - kStrangers) * std::exp(-z) + kStrangers / ((1 + z) * (1 + z)));
}

const SpectrumPeak* nearest(const std::vector<SpectrumPeak>& peaks, double at) {
  const auto above = std::lower_bound(
      peaks.begin(), peaks.end(), at,
      [](const SpectrumPeak& peak, double position) { return peak.position_bins < position; });
  const SpectrumPeak* best = above == peaks.end() ? nullptr : &*above;
  if (above == peaks.begin()) return best;
  const SpectrumPeak& below = *std::prev(above);
  const bool is_nearer = best == nullptr || at - below.position_bins < best->position_bins - at;
  return is_nearer ? &below : best;
}

double evidence_at(const RippleSpectrum& spectrum, double at_bins, double expected) {
  const SpectrumPeak* peak = nearest(spectrum.peaks, at_bins);
  double ratio = kMissed;
  if (peak != nullptr && std::abs(peak->position_bins - at_bins) < kFarBins)
    ratio = density_if_line(peak->position_bins - at_bins, peak->power_to_floor) /
            density_if_not(peak->power_to_floor);
  return std::log1p(expected * (ratio - 1));
}

double evidence(const RippleSpectrum& spectrum, double speed_bins, int m) {
  Sum sum;
  for (int order = 1; order <= m + 2; ++order)
    sum.add(evidence_at(spectrum, order * speed_bins, presence(order, m)));
  if (2 * m > m + 2) sum.add(evidence_at(spectrum, 2 * m * speed_bins, presence(2 * m, m)));
  return kEvidenceCounts * sum.value();
}

}  // namespace

RippleLock ripple_lock(const RippleSpectrum& spectrum, const RippleExpectation& expected) {
  const int m = expected.commutations_per_rev;
  const double step = kGridBins / m, first = expected.slowest_rev_s / spectrum.bin_hz;
  const double last = expected.fastest_rev_s / spectrum.bin_hz;
  const auto count = static_cast<std::size_t>((last - first) / step) + 1;
  std::vector<double> score(count);
  for (std::size_t i = 0; i < count; ++i)
    score[i] = evidence(spectrum, first + static_cast<double>(i) * step, m);
  const auto best = std::max_element(score.begin(), score.end());
  const auto at = static_cast<std::size_t>(best - score.begin());
  // Nothing at all weighs as much as the whole grid without evidence.
  const double top = std::max(*best, 0.0);
  const double nothing = static_cast<double>(count) * std::exp(-top);
  const auto weight = [&](std::size_t i) { return std::exp(score[i] - top); };
  const auto reach = static_cast<std::size_t>(kSameBins / kGridBins);
  const std::size_t from = at > reach ? at - reach : 0, to = std::min(count, at + reach + 1);
  const double near = sum_over(to - from, [&](std::size_t i) { return weight(from + i); });
  const double all = sum_over(count, weight) + nothing;
  return {(first + static_cast<double>(at) * step) * spectrum.bin_hz, near / all};
}

}  // namespace endgate::analysis
