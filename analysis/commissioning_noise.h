// How noisy is a channel really, and for how long does a sample resemble the next?
//
// MODEL    noise of one exponential correlation time tau on a level that drifts, counted in steps of q
//
//   S_m = mean (y_(i-m) - 2 y_i + y_(i+m))^2 = sigma^2 (6 - 8 r^m + 2 r^(2m)) + q^2/2            (1)
//   r   = exp(-gap/tau)                         gap: time between samples
//
//   Second differences see neither level nor ramp, so a short stretch shows what a subtracted mean
//   would have taken with it.  One test shows little (a second of rest is five correlation times of a
//   flow meter): the S_m of many tests are pooled, m = 1, 2, 4 ... 32.
//
// WHERE    as analysis/health_noise.h: at rest for channels that the unit shakes, all of the test for
//   barometer, room and humidity; head and case in the zero step alone, where nothing warms them.
//
// ESTIMATE  tau by search, sigma^2 from (1) in closed form, each S_m weighed by its number of terms.
//   Interval: leaving out one test after the other (jackknife on the logarithms), Student's factor of
//   tests - 1: no assumption about how the terms of a test depend on each other.
//
//   A channel that rests at the end of its range shows half its noise: refused.
//   A tau below kShortestGaps of a gap (r < 0.04) is not told from none: the search ends there, and
//   an interval that comes so far down reaches down to 0.
//   q^2/2 holds where noise spans counts: a sigma below half a count is refused.
//
// Refuses with too_few_points (fewer than kLeastTests tests that show the channel),
// value_out_of_domain (at the end of its range; no noise beyond the step of its count; watched for less
// than its correlation time in a test, or beyond the search).

#pragma once

#include <array>
#include <cstdint>
#include <span>

#include "analysis/calibration.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

inline constexpr std::size_t kLeastTests = 8;
inline constexpr std::size_t kNoiseSpans = 6;  // m = 1, 2, 4, 8, 16, 32
inline constexpr double kShortestGaps = 0.3;
inline constexpr double kWorthSaying = 1.2;  // a factor that matters

// What one test shows of one channel.
struct NoiseSums {
  std::array<double, kNoiseSpans> square{};  // of second differences
  std::array<std::int64_t, kNoiseSpans> count{};
  double time_s = 0;  // watched
  std::int64_t gaps = 0;
  std::int64_t samples = 0;
  std::int64_t at_end = 0;  // of the range

  [[nodiscard]] bool shows() const { return count[0] > 0; }
};
[[nodiscard]] NoiseSums noise_sums(const Samples& samples, const RawTrace& trace);

// A value and the ends of its 95 % interval.
struct Learned {
  double value = 0;
  double low = 0;
  double high = 0;

  // Beyond twice the interval, and by a factor worth saying.
  [[nodiscard]] bool contradicts(double stated) const;
};

struct LearnedNoise {
  Learned sigma_si;
  Learned correlation_s;
  std::size_t tests = 0;
};

// `resolution_si`: of the channel's count.
[[nodiscard]] Outcome<LearnedNoise> learn_noise(std::span<const NoiseSums> tests,
                                                double resolution_si);

}  // namespace endgate::analysis
