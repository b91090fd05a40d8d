#include "analysis/statistics/lifetime.h"

#include <algorithm>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

using analysis::Refusal;
using analysis::RefusalKind;

// sum of w_i t^shape, w_i = 1, ln t, (ln t)^2
struct PowerSums {
  double plain = 0, log = 0, log2 = 0;
};

PowerSums power_sums(const std::vector<Life>& lives, double shape) {
  PowerSums sums;
  for (const Life& life : lives) {
    const double l = std::log(life.time), t = std::exp(shape * l);
    sums.plain += t, sums.log += t * l, sums.log2 += t * l * l;
  }
  return sums;
}

int returns_in(const std::vector<Life>& lives) {
  return static_cast<int>(std::ranges::count_if(lives, &Life::returned));
}

Interval log_interval(double value, double u_log) {
  return {value * std::exp(-1.959963984540054 * u_log),
          value * std::exp(1.959963984540054 * u_log)};
}

// Information of (ln scale, ln shape) at the maximum, inverted.
void add_intervals(WeibullFit& fit, const std::vector<Life>& lives, double returns) {
  const double b = fit.shape;
  double cross = 0, shape = 0;
  for (const Life& life : lives) {
    const double l = b * std::log(life.time / fit.scale), t = std::exp(l);
    cross += t * l;
    shape += t * l * l;
  }
  const double aa = returns * b * b, ab = -b * cross, bb = returns + shape;
  const double determinant = aa * bb - ab * ab;
  fit.scale_95 = log_interval(fit.scale, std::sqrt(bb / determinant));
  fit.shape_95 = log_interval(fit.shape, std::sqrt(aa / determinant));
}

}  // namespace

std::vector<ShareOut> share_still_out(std::vector<Life> lives) {
  std::ranges::sort(lives, {}, &Life::time);
  std::vector<ShareOut> steps;
  double share = 1, greenwood = 0;
  for (std::size_t i = 0; i < lives.size();) {
    const double time = lives[i].time;
    const auto risk = static_cast<int>(lives.size() - i);
    int returned = 0;
    for (; i < lives.size() && lives[i].time == time; ++i) returned += lives[i].returned ? 1 : 0;
    if (returned == 0) continue;
    share *= 1 - static_cast<double>(returned) / risk;
    if (risk > returned) greenwood += returned / (static_cast<double>(risk) * (risk - returned));
    steps.push_back({time, share, share * std::sqrt(greenwood), risk, returned});
  }
  return steps;
}

Interval share_interval(const ShareOut& step) {
  if (!(step.share > 0 && step.share < 1)) return {0, 1};
  const double factor = std::exp(1.959963984540054 * step.u / (step.share * -std::log(step.share)));
  return {std::pow(step.share, factor), std::pow(step.share, 1 / factor)};
}

double WeibullFit::returned_by(double time) const {
  return -std::expm1(-std::pow(time / scale, shape));
}

analysis::Outcome<WeibullFit> fit_weibull(const std::vector<Life>& lives) {
  const double returns = returns_in(lives);
  if (returns < 3)
    return Refusal{RefusalKind::too_few_points, "a form needs three returns", std::nullopt};
  double logs = 0;
  for (std::size_t i = 0; i < lives.size(); ++i) {
    if (!(lives[i].time > 0))
      return Refusal{RefusalKind::value_out_of_domain, "a time must be above 0", i};
    if (lives[i].returned) logs += std::log(lives[i].time);
  }
  const auto slope = [&](double shape) {
    const PowerSums sums = power_sums(lives, shape);
    return sums.log / sums.plain - 1 / shape - logs / returns;
  };
  if (!(slope(20) > 0))
    return Refusal{RefusalKind::singular, "all returns came at nearly the same time", std::nullopt};
  std::uintmax_t steps = 200;
  const auto found = boost::math::tools::toms748_solve(
      slope, 0.02, 20.0, boost::math::tools::eps_tolerance<double>(48), steps);
  WeibullFit fit;
  fit.shape = (found.first + found.second) / 2;
  fit.scale = std::pow(power_sums(lives, fit.shape).plain / returns, 1 / fit.shape);
  fit.log_likelihood = returns * std::log(fit.shape / std::pow(fit.scale, fit.shape)) +
                       (fit.shape - 1) * logs - returns;
  add_intervals(fit, lives, returns);
  return fit;
}

}  // namespace endgate::statistics
