#include "analysis/heating_fit.h"

#include <array>
#include <cmath>

#include "analysis/least_squares.h"
#include "analysis/refused.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

double level_of(const std::vector<double>& values) {
  Sum sum;
  for (const double value : values) sum.add(value);
  return sum.value() / static_cast<double>(values.size());
}

// Trapezoids from the first sample on.
std::vector<double> integral_of(const Stretch& stretch) {
  std::vector<double> integral{0};
  Sum sum;
  for (std::size_t i = 1; i < stretch.time_s.size(); ++i) {
    sum.add(0.5 * (stretch.rise_k[i] + stretch.rise_k[i - 1]) *
            (stretch.time_s[i] - stretch.time_s[i - 1]));
    integral.push_back(sum.value());
  }
  return integral;
}

struct Balances {
  LinearSystem on{2};   // D / tau_h, 1 / tau_h
  LinearSystem off{1};  // 1 / tau_c
};

void add(const Stretch& stretch, Balances& balances) {
  const std::vector<double> integral = integral_of(stretch);
  const double rise = level_of(stretch.rise_k);
  const double time = level_of(stretch.time_s);
  const double passed = level_of(integral);
  for (std::size_t i = 0; i < integral.size(); ++i) {
    const Observation seen{stretch.rise_k[i] - rise, 1};
    const double taken = passed - integral[i];
    if (stretch.on)
      balances.on.add(std::array{stretch.time_s[i] - time, taken}, seen);
    else
      balances.off.add(std::array{taken}, seen);
  }
}

double rise_after(const HeatingCurve& curve, bool on, double rise_k, double dt_s) {
  if (!on) return rise_k * std::exp(-dt_s / curve.tau_cooling_s);
  return curve.final_rise_k + (rise_k - curve.final_rise_k) * std::exp(-dt_s / curve.tau_heating_s);
}

double misfit_of(const HeatingCurve& curve, const std::vector<Stretch>& stretches) {
  Sum squares;
  std::size_t count = 0;
  double rise = stretches.front().rise_k.front();
  double time = stretches.front().time_s.front();
  for (const Stretch& stretch : stretches)
    for (std::size_t i = 0; i < stretch.time_s.size(); ++i) {
      rise = rise_after(curve, stretch.on, rise, stretch.time_s[i] - time);
      time = stretch.time_s[i];
      squares.add((stretch.rise_k[i] - rise) * (stretch.rise_k[i] - rise));
      ++count;
    }
  return std::sqrt(squares.value() / static_cast<double>(count));
}

}  // namespace

Outcome<HeatingFit> fit_heating(const std::vector<Stretch>& stretches) {
  Balances balances;
  for (const Stretch& stretch : stretches)
    if (stretch.time_s.size() >= kLeastSamples) add(stretch, balances);
  if (balances.on.rows() == 0)
    return refused(RefusalKind::too_few_points, "the motor never ran long enough to see it heat");
  if (balances.off.rows() == 0)
    return refused(RefusalKind::missing_step, "no rest was long enough to see it cool");
  const auto on = solve_least_squares(balances.on);
  const auto off = solve_least_squares(balances.off);
  const bool told =
      on && off && on->parameters[0] > 0 && on->parameters[1] > 0 && off->parameters[0] > 0;
  if (!told)
    return refused(RefusalKind::span_too_narrow,
                   "the run is too short to tell where the heating would end");
  HeatingFit fit;
  fit.curve = {.final_rise_k = on->parameters[0] / on->parameters[1],
               .tau_heating_s = 1 / on->parameters[1],
               .tau_cooling_s = 1 / off->parameters[0]};
  fit.misfit_k = misfit_of(fit.curve, stretches);
  return fit;
}

}  // namespace endgate::analysis
