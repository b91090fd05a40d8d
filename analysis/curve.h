// How does delivered flow fall with pressure, and how well do we know it?
//
//   q(r, N) = N (a - b (r^(1/n) - 1)) - L (r^2 - 1)          a, b, L >= 0
//
// See DEVELOPERS/README of analysis for the derivation.  Weighted least squares by pivoted QR on
// scaled regressors, independent (random) parts of u only as weights; the back-leak test is a prior
// row for L.  Non-negativity by active set.

#pragma once

#include <optional>
#include <span>

#include "analysis/evaluation.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

struct CurvePoint {
  double pressure_ratio = 1;   // absolute, >= 1
  double speed_rev_s = 0;      // > 0, taken as exact beside the flow
  double flow_inlet_m3_s = 0;  // >= 0
  double flow_u_m3_s = 0;      // > 0
};

struct LeakPrior {
  double leak_m3_s = 0;  // L, >= 0
  double u_m3_s = 0;     // > 0
};

[[nodiscard]] Outcome<Curve> fit_curve(std::span<const CurvePoint> points, double exponent,
                                       const std::optional<LeakPrior>& prior);

struct CurveQuery {
  double pressure_ratio = 1;
  double speed_rev_s = 0;
  bool allow_extrapolation = false;
};
struct FlowEstimate {
  double flow_m3_s = 0;
  double u_random_m3_s = 0;
  bool extrapolated = false;
};
[[nodiscard]] Outcome<FlowEstimate> flow_at(const Curve& curve, const CurveQuery& query);

}  // namespace endgate::analysis
