#include "daemon/bench/drift.h"

#include <algorithm>
#include <cmath>

#include "analysis/autocorrelation.h"
#include "analysis/sum.h"

namespace endgate::daemon {

using analysis::sum_over;

void DriftWindow::add(std::int64_t time_us, double value) {
  if (value_.empty()) first_us_ = time_us;
  time_s_.push_back(static_cast<double>(time_us - first_us_) * 1e-6);
  value_.push_back(value);
}

double DriftWindow::length_s() const { return time_s_.empty() ? 0 : time_s_.back(); }

double DriftWindow::effective_count() const {
  const std::size_t count = value_.size();
  const double period_s = length_s() / static_cast<double>(count - 1);
  const double correlation_s = facts_ ? facts_->noise_correlation_s : 0;
  const double phi = analysis::phi_of(period_s, correlation_s);
  return analysis::effective_sample_size({count, phi}).value_or(1);
}

std::optional<Drift> DriftWindow::drift(double over_s) const {
  const std::size_t count = value_.size();
  if (count < 10 || length_s() <= 0) return std::nullopt;
  const double level = *analysis::mean_of(value_);
  const double middle = *analysis::mean_of(time_s_);
  const double moment =
      sum_over(count, [&](std::size_t i) { return std::pow(time_s_[i] - middle, 2); });
  const double slope =
      sum_over(count, [&](std::size_t i) { return (time_s_[i] - middle) * (value_[i] - level); }) /
      moment;
  const double scatter = sum_over(count, [&](std::size_t i) {
    return std::pow(value_[i] - level - slope * (time_s_[i] - middle), 2);
  });
  const double stated = facts_ ? facts_->noise_sigma_si : 0;
  const double sigma = std::max(std::sqrt(scatter / static_cast<double>(count - 2)), stated);
  const double u = sigma * std::sqrt(12 / effective_count()) * over_s / length_s();
  return Drift{level, slope * over_s, u};
}

bool DriftWindow::settled(const analysis::SteadyRule& rule) const {
  if (length_s() < rule.min_window_s) return false;
  const auto found = drift(length_s());
  if (!found) return false;
  const double allowed = std::max(rule.max_drift_rel * std::abs(found->level), 6 * found->u);
  return std::abs(found->over_window) + 2 * found->u <= allowed;
}

}  // namespace endgate::daemon
