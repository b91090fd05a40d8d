#include "analysis/statistics/degradation.h"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <set>
#include <vector>

#include "analysis/statistics/distribution.h"
#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::Refusal;
using analysis::RefusalKind;

constexpr std::size_t kFewestTimes = 5;
constexpr double kBent = 0.05;

double g_of(PathForm form, double time) {
  if (form == PathForm::root) return std::sqrt(time);
  return form == PathForm::square ? time * time : time;
}

double time_of(PathForm form, double g) {
  if (form == PathForm::square) return std::sqrt(std::max(0.0, g));
  return form == PathForm::root ? std::max(0.0, g) * g : g;
}

double quantile_975(const Degradation& path) { return t_quantile(0.975, path.n - 2.0); }

Degradation line_of(std::span<const MeasuredAt> points, PathForm form) {
  const auto g = [&](std::size_t i) { return g_of(form, points[i].time); };
  const std::size_t n = points.size();
  const double count = static_cast<double>(n);
  Degradation path{.form = form, .n = static_cast<int>(n)};
  path.mean_g = analysis::sum_over(n, g) / count;
  const double mean = analysis::sum_over(n, [&](std::size_t i) { return points[i].value; }) / count;
  path.spread_g =
      analysis::sum_over(n, [&](std::size_t i) { return std::pow(g(i) - path.mean_g, 2); });
  path.slope =
      analysis::sum_over(
          n, [&](std::size_t i) { return (g(i) - path.mean_g) * (points[i].value - mean); }) /
      path.spread_g;
  path.start = mean - path.slope * path.mean_g;
  const double squares = analysis::sum_over(n, [&](std::size_t i) {
    return std::pow(points[i].value - path.start - path.slope * g(i), 2);
  });
  path.scatter = std::sqrt(squares / (count - 2));
  path.slope_u = path.scatter / std::sqrt(path.spread_g);
  path.slope_p = path.slope_u > 0 ? t_two_sided(path.slope / path.slope_u, count - 2) : 0;
  path.last_time = std::ranges::max(points, {}, &MeasuredAt::time).time;
  return path;
}

// p that a square term in g is nothing.
double bent_p(std::span<const MeasuredAt> points, const Degradation& path) {
  const auto n = static_cast<Eigen::Index>(points.size());
  const double scale = std::sqrt(path.spread_g / path.n);
  Eigen::MatrixXd x(n, 3);
  Eigen::VectorXd y(n);
  for (Eigen::Index i = 0; i < n; ++i) {
    const MeasuredAt& point = points[static_cast<std::size_t>(i)];
    const double z = (g_of(path.form, point.time) - path.mean_g) / scale;
    x.row(i) << 1, z, z * z;
    y(i) = point.value;
  }
  const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(x);
  const Eigen::VectorXd b = qr.solve(y);
  const double freedom = static_cast<double>(n) - 3;
  const double squares = (y - x * b).squaredNorm();
  const Eigen::MatrixXd inverse = (x.transpose() * x).inverse();
  const double u = std::sqrt(squares / freedom * inverse(2, 2));
  return u > 0 ? t_two_sided(b(2) / u, freedom) : 0;
}

std::optional<Degradation> bent_line(std::span<const MeasuredAt> points) {
  std::optional<Degradation> best;
  for (const PathForm form : {PathForm::root, PathForm::square}) {
    const Degradation path = line_of(points, form);
    if (bent_p(points, path) < kBent) continue;
    if (!best || path.scatter < best->scatter) best = path;
  }
  return best;
}

}  // namespace

double Degradation::value_at(double time) const { return start + slope * g_of(form, time); }

Interval Degradation::line_at(double time) const {
  const double z = g_of(form, time) - mean_g;
  const double half = quantile_975(*this) * scatter * std::sqrt(1.0 / n + z * z / spread_g);
  return {value_at(time) - half, value_at(time) + half};
}

analysis::Outcome<Degradation> degradation_of(std::span<const MeasuredAt> points) {
  std::set<double> times;
  for (const MeasuredAt& point : points) times.insert(point.time);
  if (times.size() < kFewestTimes)
    return Refusal{RefusalKind::too_few_points, "a path needs tests at five different times",
                   std::nullopt};
  const Degradation straight = line_of(points, PathForm::straight);
  if (!(straight.scatter > 0))
    return Refusal{RefusalKind::singular, "the values do not scatter at all", std::nullopt};
  if (bent_p(points, straight) >= kBent) return straight;
  if (const auto bent = bent_line(points)) return *bent;
  return Refusal{RefusalKind::value_out_of_domain, "no simple form describes the points",
                 std::nullopt};
}

TimeToLimit time_to_limit(const Degradation& path, double limit) {
  TimeToLimit found;
  const double mean = path.start + path.slope * path.mean_g, d = limit - mean;
  if (const double g = path.mean_g + d / path.slope; g >= 0) found.time = time_of(path.form, g);
  // The ends are the roots of a z^2 - 2 b z + c = 0, z = g - mean g.
  const double t = quantile_975(path) * path.scatter;
  const double a = path.slope * path.slope - t * t / path.spread_g, b = path.slope * d;
  const double c = d * d - t * t / path.n, square = b * b - a * c;
  if (square < 0) return found;  // every time is allowed
  const double one = (b - std::sqrt(square)) / a, other = (b + std::sqrt(square)) / a;
  const auto as_time = [&](double z) { return time_of(path.form, std::max(0.0, path.mean_g + z)); };
  if (a > 0) {
    found.not_before = as_time(std::min(one, other));
    if (path.mean_g + std::max(one, other) >= 0) found.not_after = as_time(std::max(one, other));
  } else if (c > 0) {  // allowed are times outside the roots: before the study, or after it
    found.not_before = as_time(std::max(one, other));
  }
  return found;
}

}  // namespace endgate::statistics
