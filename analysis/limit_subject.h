// What is a limit held against, when it is not one metric?
//
//   "fad_400"               a metric of schema/metrics.toml
//   "current_600~fad_600"   a relation: y over x, two metrics of the same test
//   "curve"                 the delivery curve as drawn, at the points of the limit's band
//
// RELATION   d = y - (slope x + intercept), held against the bounds
//
//   u_d^2 = sum over causes (u_y - slope u_x)^2 + r^2 + what the parts do not attribute
//
//   A cause that is one error and moves both (a channel's calibration, a clock) counts once, with
//   its sign.  Of what is random within the test, and of causes that join several errors (model,
//   corrections, constants: joins_several in analysis/uncertainty_cause.h), it is not known how far
//   y and x share it: r is the larger of the signed difference and the root of the sum of squares.
//   Gain and offset of a channel without a zero of its own are taken as one error.
//
// CURVE   value and u between the 64 drawn points by straight lines: at their distance the bow of
//   the curve is below a thousandth of its u.  Nothing beyond the first and the last of them, and
//   missing where the nearer of the two is extrapolated: a curve is held only where holds reached.

#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "analysis/context.h"
#include "analysis/evaluation.h"

namespace endgate::analysis {

inline constexpr std::string_view kCurveSubject = "curve";
inline constexpr char kRelationSign = '~';

struct Relation {
  std::string_view metric;   // y
  std::string_view against;  // x
};
// Nothing for a metric or the curve.
constexpr std::optional<Relation> relation_in(std::string_view subject) {
  const std::size_t sign = subject.find(kRelationSign);
  if (sign == std::string_view::npos) return std::nullopt;
  return Relation{subject.substr(0, sign), subject.substr(sign + 1)};
}
constexpr bool is_one_metric(std::string_view subject) {
  return subject != kCurveSubject && !relation_in(subject);
}
[[nodiscard]] std::string relation_subject(std::string_view metric, std::string_view against);

// How a point of the band is called where a metric is spoken of: words_of_metric knows it.
[[nodiscard]] std::string subject_at(double gauge_pa);
[[nodiscard]] std::optional<double> gauge_pa_at(std::string_view subject);

// The metric that a limit on one metric or on a relation is held against; missing with its reason.
[[nodiscard]] Metric held_metric(const Limit& limit, std::span<const Metric> metrics);

// The curve at that pressure, named subject_at.
[[nodiscard]] Metric drawn_at(std::span<const DrawnPoint> drawn, double gauge_pa);

}  // namespace endgate::analysis
