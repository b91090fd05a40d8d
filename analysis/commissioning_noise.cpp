#include "analysis/commissioning_noise.h"

#include <algorithm>
#include <cmath>

#include "analysis/distributions.h"
#include "analysis/health_noise.h"
#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

constexpr double kNoiseConfidence = 0.95;
constexpr double kOftenAtEnd = 0.05;  // of the samples at the end of the range
constexpr double kEnd_rel = 1e-9;     // of the range: as good as its end
constexpr int kSpanSteps = 60;
constexpr double kLongestGaps = 200;  // gaps
constexpr double kAtEdge = 1e-6;      // of the search
constexpr double kLeastCounts = 0.5;  // sigma over the step of the count, for q^2/2 to hold

bool warmed_by_the_unit(Role role) {
  return role == Role::head_temperature || role == Role::case_temperature;
}

std::vector<Window> watched(Role role, const RawTrace& trace) {
  std::vector<Window> windows = noise_windows(role, trace);
  if (!warmed_by_the_unit(role)) return windows;
  const StepMark* zero = complete_step(trace, StepKind::zero);
  if (zero == nullptr) return {};
  return {window_of(*zero, origin_us(trace))};
}

void add_bends(NoiseSums& sums, const Column& column, const IndexRange& range) {
  for (std::size_t k = 0; k < kNoiseSpans; ++k) {
    const std::size_t m = std::size_t{1} << k;
    for (std::size_t i = range.first + m; i + m < range.last; ++i) {
      const double bend = column.value[i - m] - 2 * column.value[i] + column.value[i + m];
      sums.square[k] += bend * bend;
      ++sums.count[k];
    }
  }
  if (range.count() < 2) return;
  sums.time_s += column.time_s[range.last - 1] - column.time_s[range.first];
  sums.gaps += static_cast<std::int64_t>(range.count()) - 1;
}

// As the bench file has it: the zero of today and the calibration move both ends alike.
void count_ends(NoiseSums& sums, const Samples& samples, const IndexRange& range) {
  const ChannelFacts& facts = *samples.facts;
  const ChannelCalibration& known = facts.calibration;
  const double slack = kEnd_rel * (facts.range_max_si - facts.range_min_si);
  const double offset = known.offset_si;
  for (std::size_t i = range.first; i < range.last; ++i) {
    const double nominal = (samples.column.value[i] + samples.zero_si - offset) / known.gain;
    if (nominal <= facts.range_min_si + slack || nominal >= facts.range_max_si - slack)
      ++sums.at_end;
  }
  sums.samples += static_cast<std::int64_t>(range.count());
}

NoiseSums pooled(std::span<const NoiseSums> tests, std::size_t without) {
  NoiseSums all;
  for (std::size_t t = 0; t < tests.size(); ++t) {
    if (t == without) continue;
    for (std::size_t k = 0; k < kNoiseSpans; ++k) {
      all.square[k] += tests[t].square[k];
      all.count[k] += tests[t].count[k];
    }
    all.time_s += tests[t].time_s;
    all.gaps += tests[t].gaps;
    all.samples += tests[t].samples;
    all.at_end += tests[t].at_end;
  }
  return all;
}

struct NoiseFit {
  double sigma_square = 0;
  double miss = 0;  // of (1), relative, weighed
};

// (1) with this r.
NoiseFit fit_with(const NoiseSums& sums, double resolution_si, double r) {
  std::array<double, kNoiseSpans> ratio{};
  double weight = 0;
  double mean = 0;
  for (std::size_t k = 0; k < kNoiseSpans; ++k) {
    if (sums.count[k] == 0) continue;
    const double rm = std::pow(r, static_cast<double>(1 << k));
    const double seen =
        sums.square[k] / static_cast<double>(sums.count[k]) - resolution_si * resolution_si / 2;
    ratio[k] = seen / (6 - 8 * rm + 2 * rm * rm);
    mean += static_cast<double>(sums.count[k]) * ratio[k];
    weight += static_cast<double>(sums.count[k]);
  }
  mean /= weight;
  NoiseFit fit{mean, 0};
  for (std::size_t k = 0; k < kNoiseSpans; ++k)
    fit.miss += static_cast<double>(sums.count[k]) * std::pow(ratio[k] / mean - 1, 2);
  return fit;
}

struct NoisePoint {
  double sigma_si = 0;
  double correlation_s = 0;
  bool longest = false;  // at the end of the search
};

// The tau that (1) misses least with: by steps, then by thirds about the best of them.
std::optional<NoisePoint> noise_point_of(const NoiseSums& sums, double resolution_si) {
  const double gap_s = sums.time_s / static_cast<double>(sums.gaps);
  const auto miss = [&](double ln_gaps) {
    const NoiseFit fit = fit_with(sums, resolution_si, std::exp(-std::exp(-ln_gaps)));
    return fit.sigma_square > 0 ? fit.miss : 1e300;
  };
  const double first = std::log(kShortestGaps);
  const double step = (std::log(kLongestGaps) - first) / kSpanSteps;
  double best = first;
  for (int i = 1; i <= kSpanSteps; ++i)
    if (miss(first + i * step) < miss(best)) best = first + i * step;
  const double last = std::log(kLongestGaps);
  double low = std::max(first, best - step);
  double high = std::min(last, best + step);
  for (int i = 0; i < kSpanSteps; ++i) {
    const double left = low + (high - low) / 3;
    const double right = high - (high - low) / 3;
    (miss(left) < miss(right) ? high : low) = miss(left) < miss(right) ? right : left;
  }
  const double ln_gaps = (low + high) / 2;
  const NoiseFit fit = fit_with(sums, resolution_si, std::exp(-std::exp(-ln_gaps)));
  if (!(fit.sigma_square > 0) || !std::isfinite(fit.sigma_square)) return std::nullopt;
  return NoisePoint{std::sqrt(fit.sigma_square), gap_s * std::exp(ln_gaps),
                    last - ln_gaps < kAtEdge};
}

// Of the logarithm: (n - 1)/n sum (x_without - mean)^2.
Learned interval(double value, const std::vector<double>& without, double factor) {
  double mean = 0;
  for (const double one : without) mean += std::log(one);
  mean /= static_cast<double>(without.size());
  double square = 0;
  for (const double one : without) square += std::pow(std::log(one) - mean, 2);
  const double n = static_cast<double>(without.size());
  const double half = factor * std::sqrt((n - 1) / n * square);
  return {value, value * std::exp(-half), value * std::exp(half)};
}

// Where no memory between samples is sure to show, it reaches down to none.
Learned interval_of_correlation(double value, const std::vector<double>& without, double factor,
                                double shortest_s) {
  Learned learned = interval(value, without, factor);
  if (learned.low * learned.low / value <= shortest_s * (1 + kAtEdge)) learned.low = 0;
  return learned;
}

std::optional<Refusal> not_told(const NoisePoint& point, double resolution_si, double watched_s) {
  if (point.sigma_si < kLeastCounts * resolution_si)
    return out_of_domain("it shows no noise beyond the step of its count");
  if (point.longest || point.correlation_s > watched_s)
    return out_of_domain("what a test shows of it is shorter than its correlation time");
  return std::nullopt;
}

}  // namespace

bool Learned::contradicts(double stated) const {
  // Twice the interval: a bench has two dozen of these numbers, and each would cry wolf in turn.
  if (stated >= low * (low / value) && stated <= high * (high / value)) return false;
  return stated <= 0 || std::abs(std::log(stated / value)) > std::log(kWorthSaying);
}

NoiseSums noise_sums(const Samples& samples, const RawTrace& trace) {
  NoiseSums sums;
  if (samples.facts == nullptr) return sums;
  for (const Window& window : watched(samples.facts->role, trace)) {
    const IndexRange range = inside(samples.column.time_s, window);
    add_bends(sums, samples.column, range);
    count_ends(sums, samples, range);
  }
  return sums;
}

Outcome<LearnedNoise> learn_noise(std::span<const NoiseSums> tests, double resolution_si) {
  std::vector<NoiseSums> showing;
  std::ranges::copy_if(tests, std::back_inserter(showing), &NoiseSums::shows);
  if (showing.size() < kLeastTests)
    return refused(RefusalKind::too_few_points,
                   "fewer than " + std::to_string(kLeastTests) + " tests show it");
  const NoiseSums all = pooled(showing, showing.size());
  if (static_cast<double>(all.at_end) > kOftenAtEnd * static_cast<double>(all.samples))
    return out_of_domain("at rest it reads the end of its range, which cuts its noise off");
  const std::optional<NoisePoint> here = noise_point_of(all, resolution_si);
  if (!here) return out_of_domain("it shows no noise beyond the step of its count");
  const double watched_s = all.time_s / static_cast<double>(showing.size());
  if (const auto refusal = not_told(*here, resolution_si, watched_s)) return *refusal;
  std::vector<double> sigma;
  std::vector<double> correlation;
  for (std::size_t t = 0; t < showing.size(); ++t) {
    const std::optional<NoisePoint> there = noise_point_of(pooled(showing, t), resolution_si);
    if (!there) return out_of_domain("it shows no noise beyond the step of its count");
    sigma.push_back(there->sigma_si);
    correlation.push_back(there->correlation_s);
  }
  const Outcome<double> factor =
      student_coverage_factor(kNoiseConfidence, static_cast<double>(showing.size()) - 1);
  if (!factor) return factor.error();
  return LearnedNoise{
      interval(here->sigma_si, sigma, *factor),
      interval_of_correlation(here->correlation_s, correlation, *factor,
                              kShortestGaps * all.time_s / static_cast<double>(all.gaps)),
      showing.size()};
}

}  // namespace endgate::analysis
