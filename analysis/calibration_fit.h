// By which straight line does a channel's reading become what the reference says, and how well?
//
// MODEL
//
//   reference_i = gain reading_i + offset + scatter,   i = 1 ... m            (1)
//
//   Reading and reference are simultaneous means of one quantity in one unit.  The scatter is one
//   size for all points: repeatability and what the line cannot follow, together.
//
// ESTIMATE
//
//   gain, offset   least squares with equal weights (analysis/least_squares.h)
//   s^2            sum of squared residuals / (m - 2)
//   u_line(x)      random u of the line at reading x: its covariance with s, times
//                  t_95.45 %(m - 2) / 2, so that twice the u covers 95 % however few points there
//                  are (5 points: 1.65, 3 points: 7.0)
//
//   The reference's own u is shared by all points: it moves the whole line and no number of points
//   makes it smaller.  It is carried as c_o (its u at the point nearest to zero) and the smallest
//   c_g with  c_o^2 + (c_g reference_i)^2 >= u_i^2  at every point.
//
//   A calibration of this product has two numbers that are independent of each other.  They cover
//   the line from the first point to the last, and never less:
//
//   u_gain_rel^2 = (u(gain) / gain)^2 + c_g^2
//   u_offset^2   = max over both ends of (u_line^2 - (u(gain)/gain reference)^2, 0) + c_o^2     (2)
//
// Not in it: curvature that the points do not show, drift until the next calibration, extrapolation
// beyond the points.
//
// CONTRACT  (tests/analysis/upkeep_calibration_fit_test.cpp)
//
//   CF-1  JCGM 100, H.3 and NIST Norris are given back to the digits published.
//   CF-2  At every point (2) is at least the u of the line there and the u of the reference.
//   CF-3  More points at the same u of the reference never take u below it.
//   CF-4  Refusals carry the index of the point; nothing throws except std::bad_alloc.
//
// Units: those of the points, SI.  Source: JCGM 100, 5 and H.3.

#pragma once

#include <span>
#include <vector>

#include "analysis/outcome.h"

namespace endgate::analysis {

inline constexpr std::size_t kFewestCalibrationPoints = 3;

struct CalibrationPoint {
  double reading_si = 0;
  double reference_si = 0;
  double u_reference_si = 0;  // standard (k = 1), >= 0
};

struct CalibrationFit {
  double gain = 1;
  double offset_si = 0;
  double u_gain_rel = 0;   // (2), of the corrected reading
  double u_offset_si = 0;  // (2)
  double scatter_si = 0;   // s
  int degrees_of_freedom = 0;
  double widening = 1;                 // t / 2
  std::vector<double> residuals_si;    // reference - line, in the order of the points
  double reading_min_si = 0;           // calibrated from here ...
  double reading_max_si = 0;           // ... to here
  double u_gain = 0, u_centre_si = 0;  // random: of the slope, of the line at the mean reading
  double centre_si = 0;                // mean reading

  [[nodiscard]] double at(double reading_si) const { return gain * reading_si + offset_si; }
  // Random u of the line at a reading, widened.
  [[nodiscard]] double u_line(double reading_si) const;
};

// Refuses with too_few_points (fewer than 3), non_finite_input, value_out_of_domain (a negative u,
// a line that does not rise), span_too_narrow (readings all alike).
[[nodiscard]] Outcome<CalibrationFit> fit_calibration(std::span<const CalibrationPoint> points);

}  // namespace endgate::analysis
