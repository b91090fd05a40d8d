#include "tests/analysis/judge_polynomial.h"

#include <algorithm>
#include <cmath>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

std::vector<double> powers_of(double t, std::size_t degree) {
  std::vector<double> powers(degree + 1, 1);
  for (std::size_t k = 1; k <= degree; ++k) powers[k] = powers[k - 1] * t;
  return powers;
}

double mapped(const Polynomial& polynomial, double x) {
  return (x - polynomial.centre()) / polynomial.half_width();
}

std::optional<Refusal> refusal_of(std::span<const PolynomialPoint> points) {
  if (points.empty()) return Refusal{RefusalKind::too_few_points, "no points", std::nullopt};
  for (std::size_t i = 0; i < points.size(); ++i)
    if (!std::isfinite(points[i].x))
      return Refusal{RefusalKind::non_finite_input, "an x is not finite", i};
  return std::nullopt;
}

}  // namespace

Outcome<Polynomial> fit_polynomial(std::span<const PolynomialPoint> points, std::size_t degree) {
  if (const std::optional<Refusal> refusal = refusal_of(points)) return *refusal;
  const auto by_x = [](const PolynomialPoint& left, const PolynomialPoint& right) {
    return left.x < right.x;
  };
  const auto [low, high] = std::minmax_element(points.begin(), points.end(), by_x);
  if (!(low->x < high->x))
    return Refusal{RefusalKind::span_too_narrow, "all x are alike", std::nullopt};
  Polynomial polynomial{low->x, high->x, {}};
  LinearSystem system(degree + 1);
  for (const PolynomialPoint& point : points)
    system.add(powers_of(mapped(polynomial, point.x), degree), point.y);
  Outcome<LinearFit> fit = solve_least_squares(system);
  if (!fit) return fit.error();
  polynomial.fit = std::move(*fit);
  return polynomial;
}

PolynomialValue value_at(const Polynomial& polynomial, double x) {
  const std::size_t count = polynomial.fit.parameters.size();
  const std::vector<double> powers = powers_of(mapped(polynomial, x), count - 1);
  PolynomialValue result;
  result.value =
      sum_over(count, [&](std::size_t k) { return powers[k] * polynomial.fit.parameters[k]; });
  const double variance = sum_over(count * count, [&](std::size_t k) {
    return powers[k / count] * polynomial.fit.covariance[k] * powers[k % count];
  });
  result.u = std::sqrt(std::max(0.0, variance));
  result.extrapolated = x < polynomial.x_min || x > polynomial.x_max;
  return result;
}

}  // namespace endgate::analysis
