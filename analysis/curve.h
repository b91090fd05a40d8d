// How does delivered flow fall with pressure, and how well do we know it?
//
// MODEL
//
//   q(r, N) = N (a - b (r^(1/n) - 1)) - L (r^2 - 1)                                          (1)
//
//     q   free-air delivery at the inlet state                      [m^3/s]
//     r   discharge / inlet pressure, both absolute                 [1],      r >= 1
//     N   speed, taken as exact beside the flow                     [rev/s]
//     n   re-expansion exponent, given by the model file            [1],      n >= 1
//     a   fitted: volume delivered per revolution at r = 1          [m^3]
//     b   fitted: loss per unit of r^(1/n); clearance gas that re-expands takes the place of
//         fresh gas                                                 [m^3]
//     L   fitted: laminar leak past rings and reeds, proportional to the difference of the
//         squared pressures                                         [m^3/s]
//     a, b, L >= 0, hence q falls with r at every speed.
//
//   Not in the model: valve loss, heating of the inlet gas, motor.  They end up in a and b, so
//   these are fitted numbers, never "the swept volume" or "the clearance".  What the model cannot
//   follow must be inside the u of the points, else an honest unit contradicts its curve.
//
//   Over r, b and L look alike (correlation -0.96 on nine points from r = 1 to 9): steady points
//   alone tell clearance well and leak poorly.  The back-leak test supplies L as a prior.
//
// ESTIMATE
//
//   Rows ((N_i, -N_i (r_i^(1/n) - 1), -(r_i^2 - 1)), q_i, u_i) and, with a prior, (0, 0, 1), L_0,
//   u_L into analysis/least_squares.h.  u_i holds the independent part only; a common gain is
//   added afterwards by the caller.
//
//   SHARED  An error that moves several points together, each by its own amount s_ik (a volume that
//   is stated wrong moves what is found while the pressure rises, not what is found at rest), is one
//   more unknown d_k, in units of its u:  q_i = (1) + sum_k s_ik d_k,  with the rows d_k = 0 +- 1.
//   So points that do not suffer from it decide the level, and the others the shape.
//
//   If the free solution has a negative parameter: the best of
//   the solutions with some parameters set to 0 and the others >= 0, which is the least-squares
//   solution under a, b, L >= 0.
//
//     chi2        over points and prior
//     dof         points + prior - parameters not set to 0
//     covariance  f * inverse(A'A) of the free problem, order (a, b, L)
//     f           1, or chi2 / dof when chi2 exceeds its 95 % point
//
//   A parameter at 0 keeps the variance of the free problem: setting it to 0 is no measurement.
//   Scatter smaller than stated is luck and must not shrink an interval that a unit is graded
//   against; scatter that chance explains must not widen it.  Coverage of the 95 % interval by
//   simulation with that rule: analysis/README.md.
//
// CONTRACT  (tests/analysis/judge_curve_test.cpp cites these by name)
//
//   CU-1  Points that lie on (1) give back a, b, L to 1e-9 of their values.
//   CU-2  The order of the points changes no result by more than 1e-9 of it.
//   CU-3  Scaling every u (prior included) by one factor changes no parameter, as long as chance
//         explains the scatter.
//   CU-4  Every reason not to answer is a Refusal; nothing throws except std::bad_alloc.
//   CU-5  A refusal caused by one point carries its index.
//   CU-6  Outside [ratio_min / reach, ratio_max * reach] with reach = 1.06 a flow is refused, or
//         flagged when the caller allows it.  Reach: a gauge set point gives another r each day
//         (barometer 94 to 106 kPa), and the reference state must still be inside.
//   CU-7  u is never narrower than the u_i allow: less scatter than stated changes no u.
//   CU-8  a, b, L >= 0, and the parameters are the constrained optimum.
//   CU-9  chi2 beyond its 99 % point sets `contradicted`, beyond 99.99 % `refuted`; with dof = 0
//         nothing can.
//
// The trap no check can catch: a gauge pressure passed for an absolute one.
// Thread safety: free functions without shared state.

#pragma once

#include <optional>
#include <span>
#include <vector>

#include "analysis/evaluation.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

struct CurvePoint {
  double pressure_ratio = 1;   // absolute, >= 1
  double speed_rev_s = 0;      // > 0, taken as exact beside the flow
  double flow_inlet_m3_s = 0;  // at the inlet state; a measured zero may come out below 0
  double flow_u_m3_s = 0;      // > 0, standard, independent part (see MODEL)
  // Of each shared cause: by how much its standard uncertainty moves this flow.
  std::vector<double> shared_m3_s{};
};

struct LeakPrior {
  double leak_m3_s = 0;  // L
  double u_m3_s = 0;     // > 0
};

inline constexpr double kCurveReach = 1.06;        // CU-6
inline constexpr std::size_t kCurveMinPoints = 3;  // fewer and nothing checks the model
inline constexpr double kCurveMinRatioSpan = 1.5;  // max(r) / min(r); below, a and b look alike

// Refuses, in this order, with too_few_points, non_finite_input, value_out_of_domain (a field
// outside the range written beside it, or the exponent), span_too_narrow, singular.
[[nodiscard]] Outcome<Curve> fit_curve(std::span<const CurvePoint> points, double exponent,
                                       const std::optional<LeakPrior>& prior);

// The same without a, b, L >= 0: how the parameters move with the points is smooth there, where the
// constrained ones stick to 0 (analysis/uncertainty_by_cause.h).
[[nodiscard]] Outcome<Curve> fit_free_curve(std::span<const CurvePoint> points, double exponent,
                                            const std::optional<LeakPrior>& prior);

struct CurveQuery {
  double pressure_ratio = 1;         // >= 1
  double speed_rev_s = 0;            // > 0
  bool allow_extrapolation = false;  // else outside_fitted_range
};
struct FlowEstimate {
  double flow_m3_s = 0;      // (1); may be negative beyond the dead-head pressure
  double u_random_m3_s = 0;  // standard, from the covariance
  bool extrapolated = false;
};
// Refuses with non_finite_input, value_out_of_domain or outside_fitted_range.
[[nodiscard]] Outcome<FlowEstimate> flow_at(const Curve& curve, const CurveQuery& query);

}  // namespace endgate::analysis
