#include "analysis/duty.h"

#include <cmath>

namespace endgate::analysis {
namespace {

constexpr int kTimeBisections = 60;

}  // namespace

double peak_rise_k(const HeatingCurve& curve, const DutyCycle& cycle) {
  const double a = std::exp(-cycle.on_s / curve.tau_heating_s);
  const double b = std::exp(-cycle.off_s / curve.tau_cooling_s);
  return a * b < 1 ? curve.final_rise_k * (1 - a) / (1 - a * b) : 0;
}

std::optional<double> longest_on_s(const HeatingCurve& curve, double limit_rise_k) {
  if (curve.final_rise_k <= limit_rise_k) return std::nullopt;
  return -curve.tau_heating_s * std::log1p(-limit_rise_k / curve.final_rise_k);
}

// The peak rises with the share, so bisection finds the one that touches the limit.
double largest_duty_factor(const HeatingCurve& curve, double limit_rise_k, double cycle_s) {
  if (curve.final_rise_k <= limit_rise_k) return 1;
  double low = 0;
  double high = 1;
  for (int i = 0; i < kTimeBisections; ++i) {
    const double middle = (low + high) / 2;
    const DutyCycle cycle{middle * cycle_s, (1 - middle) * cycle_s};
    (peak_rise_k(curve, cycle) <= limit_rise_k ? low : high) = middle;
  }
  return low;
}

}  // namespace endgate::analysis
