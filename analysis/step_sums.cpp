#include "analysis/step_sums.h"

#include <algorithm>
#include <cmath>

#include "analysis/autocorrelation.h"

namespace endgate::analysis {
namespace {

double effective_count(std::size_t count, double length_s, double correlation_s) {
  const double period_s = length_s / static_cast<double>(count);
  return effective_sample_size({count, phi_of(period_s, correlation_s)}).value_or(1);
}

}  // namespace

void DwellSums::add(double time_s, double value) {
  if (count_ == 0) first_ = value;
  const double tau = time_s - start_s_;
  const double d = value - first_;
  ++count_;
  last_tau_ = tau;
  tau_.add(tau);
  tau2_.add(tau * tau);
  d_.add(d);
  tau_d_.add(tau * d);
  tau2_d_.add(tau * tau * d);
  d2_.add(d * d);
}

// Standard deviation about the regression line.
double DwellSums::scatter(double slope_s) const {
  const double n = static_cast<double>(count_);
  const double squares = d2_.value() - d_.value() * d_.value() / n;
  const double explained = slope_s * (tau_d_.value() - tau_.value() * d_.value() / n);
  return std::sqrt(std::max(0.0, squares - explained) / std::max(1.0, n - 2));
}

std::optional<Moments> DwellSums::moments(double end_s, const SampleNoise& noise,
                                          double lag_s) const {
  if (count_ < 3) return std::nullopt;
  const double n = static_cast<double>(count_);
  const double length = std::max(end_s - start_s_, last_tau_);
  const double weight = length * tau_.value() - tau2_.value();
  const double spread = tau2_.value() - tau_.value() * tau_.value() / n;
  if (!(weight > 0) || !(spread > 0)) return std::nullopt;
  Moments moments{.count = count_};
  moments.slope_s = (tau_d_.value() - tau_.value() * d_.value() / n) / spread;
  const double level = (length * tau_d_.value() - tau2_d_.value()) / weight;
  moments.mean = first_ + level + lag_s * moments.slope_s;
  const double found = count_ < kScatterCount ? 0 : scatter(moments.slope_s);
  const double expected = std::hypot(noise.sigma_si, noise.resolution_si / std::sqrt(12.0));
  const double sigma = found > kScatterAllowance * expected ? found : expected;
  const double n_eff = effective_count(count_, length, noise.correlation_s);
  moments.u_slope_s = sigma * std::sqrt(12 / n_eff) / length;
  // 6/5: the parabolic weight against the flat one.
  moments.u_mean = std::hypot(sigma * std::sqrt(1.2 / n_eff), lag_s * moments.u_slope_s);
  return moments;
}

}  // namespace endgate::analysis
