// What are level and slope of one channel inside a window, and how well are they known?
//
// ESTIMATE                                                       samples y_i at t_i in [t_0, t_1]
//
//   slope = regression of y on t
//   mean  = sum w_i y_i + lag slope,     w_i ~ (t_i - t_0)(t_1 - t_i),  sum w_i = 1
//
//   The parabolic weight is the one by which a regression slope averages the derivative.  So for
//   any stored quantity M the slope of M over the window is the w-mean of dM/dt, and balances of
//   flow and storage hold exactly, with a fraction of the noise of end-point differences.  It also
//   damps crank ripple.  w vanishes at both ends, so the w-mean of dy/dt is the slope too, and a
//   first-order lag is undone without differentiating samples: x = y + lag dy/dt.
//
//   Var(sum c_i y_i) = sigma^2 sum_ij c_i c_j exp(-|t_i - t_j| / tau)                          (1)
//
//   exact for one exponential correlation time tau, for any spacing.  sigma is the bench's noise
//   of one sample.  Where the samples scatter by more than 1.3 times that, a noisy unit must not look
//   well known, but what scatters is mostly the crank's ripple, which averages out faster than
//   noise: then sigma follows from the scatter of the means of kBlocks blocks,
//
//     sigma^2 = 1.3^2 (1.2 / kBlocks) s_b^2 / Var(mean for sigma = 1)                       (2)
//
//   never below the stated noise nor above the scatter of the samples, which serves alone where
//   they are too few for blocks.  The step of the raw number adds resolution^2/12, which averages
//   out only when the noise spans half a step.
//
// A channel too slow for the window (fewer than three samples) gives its value interpolated at the
// middle, slope 0 and the u of one sample.  Unit: that of the column; slope per second.

#pragma once

#include <cstddef>
#include <optional>
#include <span>

#include "analysis/calibration.h"

namespace endgate::analysis {

struct Window {
  double start_s = 0;
  double end_s = 0;

  [[nodiscard]] double length_s() const { return end_s - start_s; }
  [[nodiscard]] double middle_s() const { return start_s + (end_s - start_s) / 2; }
};

inline constexpr double kScatterAllowance = 1.3;  // found over stated sigma
inline constexpr std::size_t kScatterCount = 8;   // fewer say nothing about scatter
inline constexpr std::size_t kBlocks = 8;
inline constexpr std::size_t kInBlock = 4;  // fewer samples make no block

struct SampleNoise {
  double sigma_si = 0;
  double correlation_s = 0;
  double resolution_si = 0;
};

// What the samples scatter about: a line, or where the quantity bends on its way (the pressure of a
// receiver that is filled), a parabola.  Level and slope are the same for both.
enum class Path { straight, bent };

struct Moments {
  double mean = 0;
  double u_mean = 0;
  double slope_s = 0;
  double u_slope_s = 0;
  std::size_t count = 0;  // samples inside the window
};

// (1) for sigma = 1.
[[nodiscard]] double combination_variance(std::span<const double> time_s,
                                          std::span<const double> coefficients,
                                          double correlation_s);

// Coefficients of the w-mean and of the slope for samples at these times.
[[nodiscard]] std::vector<double> parabolic_weights(std::span<const double> time_s,
                                                    const Window& window);
[[nodiscard]] std::vector<double> slope_weights(std::span<const double> time_s);

// Indices [first, last) of the samples inside the window, its end excluded: the sample at the end
// of a step already belongs to the next one.
struct IndexRange {
  std::size_t first = 0;
  std::size_t last = 0;
  [[nodiscard]] std::size_t count() const { return last - first; }
};
[[nodiscard]] IndexRange inside(std::span<const double> time_s, const Window& window);

// The straight line between the neighbours; the nearest sample beyond the ends.
[[nodiscard]] std::optional<double> interpolate(const Column& column, double time_s);

// Missing only when the column is empty.
[[nodiscard]] std::optional<Moments> moments_in(const Column& column, const Window& window,
                                                const SampleNoise& noise, double lag_s,
                                                Path path = Path::straight);

}  // namespace endgate::analysis
