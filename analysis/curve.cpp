#include "analysis/curve.h"

#include <algorithm>
#include <bit>
#include <cmath>
#include <tuple>
#include <utility>

#include "analysis/distributions.h"
#include "analysis/least_squares.h"
#include "analysis/refused.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

using Row = std::array<double, 3>;

// d q / d (a, b, L) of (1).
Row regressors_of(double ratio, double speed_rev_s, double exponent) {
  return {speed_rev_s, -speed_rev_s * (std::pow(ratio, 1 / exponent) - 1), -(ratio * ratio - 1)};
}

std::optional<Refusal> point_refusal(const CurvePoint& point, std::size_t index) {
  for (const double value :
       {point.pressure_ratio, point.speed_rev_s, point.flow_inlet_m3_s, point.flow_u_m3_s})
    if (!std::isfinite(value))
      return refused(RefusalKind::non_finite_input, "a point has a value that is not finite",
                     index);
  if (point.pressure_ratio < 1)
    return refused(RefusalKind::value_out_of_domain, "a pressure ratio is below 1", index);
  if (point.speed_rev_s <= 0)
    return refused(RefusalKind::value_out_of_domain, "a speed is not positive", index);
  if (!std::ranges::all_of(point.shared_m3_s, [](double moved) { return std::isfinite(moved); }))
    return refused(RefusalKind::non_finite_input, "a point has a value that is not finite", index);
  if (point.flow_u_m3_s <= 0)
    return refused(RefusalKind::value_out_of_domain, "a flow has no uncertainty", index);
  return std::nullopt;
}

std::optional<Refusal> option_refusal(double exponent, const std::optional<LeakPrior>& prior) {
  if (!(exponent >= 1) || !std::isfinite(exponent))
    return refused(RefusalKind::value_out_of_domain, "the exponent is below 1");
  if (prior && !(std::isfinite(prior->leak_m3_s) && std::isfinite(prior->u_m3_s)))
    return refused(RefusalKind::non_finite_input, "the leak prior is not finite");
  if (prior && prior->u_m3_s <= 0)
    return refused(RefusalKind::value_out_of_domain, "the leak prior has no uncertainty");
  return std::nullopt;
}

std::pair<double, double> ratio_range(std::span<const CurvePoint> points) {
  const auto by_ratio = [](const CurvePoint& left, const CurvePoint& right) {
    return left.pressure_ratio < right.pressure_ratio;
  };
  const auto [low, high] = std::minmax_element(points.begin(), points.end(), by_ratio);
  return {low->pressure_ratio, high->pressure_ratio};
}

std::optional<Refusal> refusal_of(std::span<const CurvePoint> points, double exponent,
                                  const std::optional<LeakPrior>& prior) {
  if (points.size() < kCurveMinPoints)
    return refused(RefusalKind::too_few_points, "fewer than three operating points");
  for (std::size_t i = 0; i < points.size(); ++i)
    if (std::optional<Refusal> refusal = point_refusal(points[i], i)) return refusal;
  if (std::optional<Refusal> refusal = option_refusal(exponent, prior)) return refusal;
  const auto [low, high] = ratio_range(points);
  if (high / low < kCurveMinRatioSpan)
    return refused(RefusalKind::span_too_narrow, "the pressures lie too close together");
  return std::nullopt;
}

// Which of a, b, L may differ from 0: bit 0, 1, 2.
using FreeSet = unsigned;
constexpr FreeSet kAllFree = 0b111;

bool is_free(FreeSet set, std::size_t parameter) { return ((set >> parameter) & 1U) != 0; }

// Rows of a, b, L, then of the shared causes.
struct Problem {
  std::vector<Row> rows;
  std::vector<std::vector<double>> shared;  // one number per cause and row
  std::vector<Observation> observations;
  std::size_t causes = 0;

  void add(const Row& row, std::vector<double> moved, const Observation& observation) {
    moved.resize(causes, 0);
    rows.push_back(row);
    shared.push_back(std::move(moved));
    observations.push_back(observation);
  }
};

// The problem with only the parameters of `set`, in the order a, b, L, and every shared cause.
LinearSystem system_of(const Problem& problem, FreeSet set) {
  LinearSystem system(static_cast<std::size_t>(std::popcount(set)) + problem.causes);
  for (std::size_t i = 0; i < problem.rows.size(); ++i) {
    std::vector<double> kept;
    for (std::size_t j = 0; j < 3; ++j)
      if (is_free(set, j)) kept.push_back(problem.rows[i][j]);
    kept.insert(kept.end(), problem.shared[i].begin(), problem.shared[i].end());
    system.add(kept, problem.observations[i]);
  }
  return system;
}

struct Candidate {
  Row parameters{};
  std::vector<double> shared{};
  double chi_square = 0;
  int degrees_of_freedom = 0;
};

Candidate spread_out(const LinearFit& fit, FreeSet set) {
  Candidate candidate{{}, {}, fit.chi_square, fit.degrees_of_freedom};
  std::size_t next = 0;
  for (std::size_t j = 0; j < 3; ++j)
    if (is_free(set, j)) candidate.parameters[j] = fit.parameters[next++];
  candidate.shared.assign(fit.parameters.begin() + static_cast<std::ptrdiff_t>(next),
                          fit.parameters.end());
  return candidate;
}

bool feasible(const Candidate& candidate) {
  return std::all_of(candidate.parameters.begin(), candidate.parameters.end(),
                     [](double parameter) { return parameter >= 0; });
}

Problem problem_of(std::span<const CurvePoint> points, double exponent,
                   const std::optional<LeakPrior>& prior) {
  Problem problem;
  for (const CurvePoint& point : points)
    problem.causes = std::max(problem.causes, point.shared_m3_s.size());
  for (const CurvePoint& point : points)
    problem.add(regressors_of(point.pressure_ratio, point.speed_rev_s, exponent), point.shared_m3_s,
                {point.flow_inlet_m3_s, point.flow_u_m3_s});
  if (prior) problem.add({0, 0, 1}, {}, {prior->leak_m3_s, prior->u_m3_s});
  for (std::size_t k = 0; k < problem.causes; ++k) {
    std::vector<double> itself(problem.causes, 0);
    itself[k] = 1;
    problem.add({}, std::move(itself), {0, 1});
  }
  return problem;
}

// All parameters 0: the worst that is always allowed.
Candidate nothing_delivered(const Problem& problem) {
  const double chi_square = sum_over(problem.observations.size(), [&](std::size_t i) {
    const double pull = problem.observations[i].value / problem.observations[i].u;
    return pull * pull;
  });
  return {{},
          std::vector<double>(problem.causes, 0),
          chi_square,
          static_cast<int>(problem.observations.size() - problem.causes)};
}

// The least-squares solution under a, b, L >= 0 is the free solution on its own support, and the
// best feasible one among all supports (CU-8).
Candidate best_feasible(const Problem& problem, const LinearFit& free_fit) {
  const Candidate free_candidate = spread_out(free_fit, kAllFree);
  if (feasible(free_candidate)) return free_candidate;
  Candidate best = nothing_delivered(problem);
  for (FreeSet set = 1; set < kAllFree; ++set) {
    const Outcome<LinearFit> fit = solve_least_squares(system_of(problem, set));
    if (!fit) continue;
    const Candidate candidate = spread_out(*fit, set);
    if (feasible(candidate) && candidate.chi_square < best.chi_square) best = candidate;
  }
  return best;
}

bool beyond(double chi_square, double probability, int degrees_of_freedom) {
  if (degrees_of_freedom < 1) return false;
  const Outcome<double> limit = chi_square_quantile(probability, degrees_of_freedom);
  return limit.has_value() && chi_square > *limit;
}

// f of ESTIMATE (CU-7).
double inflation_of(const Candidate& fit) {
  if (!beyond(fit.chi_square, 0.95, fit.degrees_of_freedom)) return 1;
  return std::max(1.0, fit.chi_square / fit.degrees_of_freedom);
}

Curve curve_of(const Candidate& fit, const LinearFit& free_fit) {
  Curve curve;
  curve.a_m3 = fit.parameters[0];
  curve.b_m3 = fit.parameters[1];
  curve.leak_m3_s = fit.parameters[2];
  curve.shared = fit.shared;
  const double inflation = inflation_of(fit);
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      curve.covariance[i][j] = inflation * free_fit.covariance_of(i, j);
  curve.chi_square = fit.chi_square;
  curve.degrees_of_freedom = fit.degrees_of_freedom;
  curve.contradicted = beyond(fit.chi_square, 0.99, fit.degrees_of_freedom);
  curve.refuted = beyond(fit.chi_square, 0.9999, fit.degrees_of_freedom);
  return curve;
}

std::optional<Refusal> query_refusal(const Curve& curve, const CurveQuery& query) {
  if (!std::isfinite(query.pressure_ratio) || !std::isfinite(query.speed_rev_s))
    return refused(RefusalKind::non_finite_input, "pressure ratio or speed is not finite");
  if (query.pressure_ratio < 1 || query.speed_rev_s <= 0 || !(curve.exponent >= 1))
    return refused(RefusalKind::value_out_of_domain, "pressure ratio, speed or exponent");
  return std::nullopt;
}

bool outside_reach(const Curve& curve, double ratio) {
  return ratio < curve.ratio_min / kCurveReach || ratio > curve.ratio_max * kCurveReach;
}

double variance_of(const Curve& curve, const Row& row) {
  return sum_over(
      9, [&](std::size_t k) { return row[k / 3] * curve.covariance[k / 3][k % 3] * row[k % 3]; });
}

enum class Sign { not_negative, any };

Outcome<Curve> fitted(std::span<const CurvePoint> points, double exponent,
                      const std::optional<LeakPrior>& prior, Sign sign) {
  if (const std::optional<Refusal> refusal = refusal_of(points, exponent, prior)) return *refusal;
  const Problem problem = problem_of(points, exponent, prior);
  const Outcome<LinearFit> free_fit = solve_least_squares(system_of(problem, kAllFree));
  if (!free_fit) return free_fit.error();
  Curve curve = curve_of(
      sign == Sign::any ? spread_out(*free_fit, kAllFree) : best_feasible(problem, *free_fit),
      *free_fit);
  curve.exponent = exponent;
  std::tie(curve.ratio_min, curve.ratio_max) = ratio_range(points);
  return curve;
}

}  // namespace

Outcome<Curve> fit_curve(std::span<const CurvePoint> points, double exponent,
                         const std::optional<LeakPrior>& prior) {
  return fitted(points, exponent, prior, Sign::not_negative);
}

Outcome<Curve> fit_free_curve(std::span<const CurvePoint> points, double exponent,
                              const std::optional<LeakPrior>& prior) {
  return fitted(points, exponent, prior, Sign::any);
}

Outcome<FlowEstimate> flow_at(const Curve& curve, const CurveQuery& query) {
  if (const std::optional<Refusal> refusal = query_refusal(curve, query)) return *refusal;
  const bool outside = outside_reach(curve, query.pressure_ratio);
  if (outside && !query.allow_extrapolation)
    return refused(RefusalKind::outside_fitted_range, "the pressure is outside the fitted range");
  const Row row = regressors_of(query.pressure_ratio, query.speed_rev_s, curve.exponent);
  const Row parameters{curve.a_m3, curve.b_m3, curve.leak_m3_s};
  FlowEstimate estimate;
  estimate.flow_m3_s = sum_over(3, [&](std::size_t j) { return row[j] * parameters[j]; });
  estimate.u_random_m3_s = std::sqrt(std::max(0.0, variance_of(curve, row)));
  estimate.extrapolated = outside;
  return estimate;
}

}  // namespace endgate::analysis
