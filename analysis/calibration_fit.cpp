#include "analysis/calibration_fit.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/distributions.h"
#include "analysis/least_squares.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

struct SharedU {
  double rel = 0;  // c_g
  double si = 0;   // c_o
};

std::optional<Refusal> wrong_point(std::span<const CalibrationPoint> points) {
  for (std::size_t i = 0; i < points.size(); ++i) {
    const CalibrationPoint& point = points[i];
    if (!std::isfinite(point.reading_si) || !std::isfinite(point.reference_si) ||
        !std::isfinite(point.u_reference_si))
      return Refusal{RefusalKind::non_finite_input, "a number of the point is not finite", i};
    if (point.u_reference_si < 0)
      return Refusal{RefusalKind::value_out_of_domain, "the u of the reference is negative", i};
  }
  return std::nullopt;
}

double mean_reading(std::span<const CalibrationPoint> points) {
  return sum_over(points.size(), [&](std::size_t i) { return points[i].reading_si; }) /
         static_cast<double>(points.size());
}

// About the mean reading slope and level are independent of each other.
Outcome<LinearFit> line_about(double centre_si, std::span<const CalibrationPoint> points) {
  LinearSystem system(2);
  for (const CalibrationPoint& point : points)
    system.add(std::array{point.reading_si - centre_si, 1.0},
               {.value = point.reference_si, .u = 1});
  return solve_least_squares(system);
}

SharedU shared_u(std::span<const CalibrationPoint> points) {
  double nearest = std::abs(points.front().reference_si);
  for (const CalibrationPoint& point : points)
    nearest = std::min(nearest, std::abs(point.reference_si));
  SharedU shared;
  for (const CalibrationPoint& point : points)
    if (std::abs(point.reference_si) <= nearest)
      shared.si = std::max(shared.si, point.u_reference_si);
  for (const CalibrationPoint& point : points)
    if (point.u_reference_si > shared.si)
      shared.rel = std::max(shared.rel, std::sqrt(point.u_reference_si * point.u_reference_si -
                                                  shared.si * shared.si) /
                                            std::abs(point.reference_si));
  return shared;
}

// What the gain's share leaves open of the line's u at one reading.
double uncovered_variance(const CalibrationFit& fit, double reading_si) {
  const double by_gain = fit.u_gain / fit.gain * fit.at(reading_si);
  const double whole = fit.u_line(reading_si);
  return std::max(0.0, whole * whole - by_gain * by_gain);
}

void set_two_numbers(CalibrationFit& fit, const SharedU& shared) {
  fit.u_gain_rel = std::hypot(fit.u_gain / fit.gain, shared.rel);
  const double open = std::max(uncovered_variance(fit, fit.reading_min_si),
                               uncovered_variance(fit, fit.reading_max_si));
  fit.u_offset_si = std::sqrt(open + shared.si * shared.si);
}

}  // namespace

double CalibrationFit::u_line(double reading_si) const {
  return std::hypot(u_centre_si, u_gain * (reading_si - centre_si));
}

Outcome<CalibrationFit> fit_calibration(std::span<const CalibrationPoint> points) {
  if (points.size() < kFewestCalibrationPoints)
    return Refusal{RefusalKind::too_few_points, "a calibration needs at least 3 points", {}};
  if (auto wrong = wrong_point(points)) return *wrong;
  CalibrationFit fit;
  fit.centre_si = mean_reading(points);
  const auto [least, most] = std::ranges::minmax(points, {}, &CalibrationPoint::reading_si);
  fit.reading_min_si = least.reading_si;
  fit.reading_max_si = most.reading_si;
  if (!(fit.reading_max_si > fit.reading_min_si))
    return Refusal{RefusalKind::span_too_narrow, "all readings are alike", {}};
  const Outcome<LinearFit> line = line_about(fit.centre_si, points);
  if (!line) return line.error();
  fit.gain = line->parameters[0];
  fit.offset_si = line->parameters[1] - fit.gain * fit.centre_si;
  if (fit.gain <= 0)
    return Refusal{
        RefusalKind::value_out_of_domain, "the reading does not rise with the reference", {}};
  for (const CalibrationPoint& point : points)
    fit.residuals_si.push_back(point.reference_si - fit.at(point.reading_si));
  fit.degrees_of_freedom = line->degrees_of_freedom;
  fit.scatter_si = std::sqrt(line->chi_square / fit.degrees_of_freedom);
  fit.widening = 0.5 * student_coverage_factor(kTwoSigma, fit.degrees_of_freedom).value();
  fit.u_gain = fit.widening * fit.scatter_si * line->u_of(0);
  fit.u_centre_si = fit.widening * fit.scatter_si * line->u_of(1);
  set_two_numbers(fit, shared_u(points));
  return fit;
}

}  // namespace endgate::analysis
