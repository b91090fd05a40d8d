#include "analysis/health_motor.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kRunIn_s = 1;

// Means of one channel over the loads.
struct Levels {
  std::vector<double> mean;
  double u = 0;  // of the middle one: a step inside one hold must not hide itself

  [[nodiscard]] double span() const {
    const auto [low, high] = std::minmax_element(mean.begin(), mean.end());
    return *high - *low;
  }
  [[nodiscard]] bool says_something() const { return span() > kSpan * u; }
};

// A hold without its run-in, or a stretch of a rise, in which every channel is late by its lag.
struct Load {
  Window window;
  bool rising = false;

  [[nodiscard]] Window seen_by(const Samples& samples) const {
    const double late_s = rising ? samples.facts->lag_s : 0;
    return {window.start_s + late_s, window.end_s + late_s};
  }
};

std::vector<Load> loads_of(const Survey& survey, const RawTrace& trace) {
  std::vector<Load> loads;
  for (const StepMark& step : trace.steps) {
    if (step.kind != StepKind::hold || step.end != StepEnd::complete || !step.ready_us) continue;
    Window window = window_of(step, origin_us(trace));
    window.start_s = seconds_from(origin_us(trace), *step.ready_us) + kRunIn_s;
    if (window.length_s() > kRunIn_s) loads.push_back({window});
  }
  for (const HoldWindow& hold : survey.holds)
    if (hold.rising && hold.window) loads.push_back({*hold.window, true});
  return loads;
}

std::optional<Levels> levels_of(const Survey& survey, Role role, const std::vector<Load>& loads) {
  const Samples& samples = survey.samples[index_of(role)];
  if (!survey.usable(role) || samples.facts == nullptr) return std::nullopt;
  Levels levels;
  std::vector<double> u;
  for (const Load& load : loads) {
    const auto moments =
        moments_in(samples.column, load.seen_by(samples), stated_noise(samples), 0);
    if (!moments) return std::nullopt;
    levels.mean.push_back(moments->mean);
    u.push_back(moments->u_mean);
  }
  std::nth_element(u.begin(), u.begin() + static_cast<std::ptrdiff_t>(u.size() / 2), u.end());
  levels.u = u[u.size() / 2];
  return levels;
}

// E of the header.
double bend(const Levels& x, const Levels& y) {
  if (!x.says_something() || !y.says_something()) return 0;
  const std::vector<double> weights = slope_weights(x.mean);
  const std::size_t n = x.mean.size();
  const double slope = sum_over(n, [&](std::size_t i) { return weights[i] * y.mean[i]; });
  const double mean_x = sum_of(x.mean) / static_cast<double>(n);
  const double mean_y = sum_of(y.mean) / static_cast<double>(n);
  double worst = 0;
  for (std::size_t i = 0; i < n; ++i)
    worst = std::max(worst, std::abs(y.mean[i] - mean_y - slope * (x.mean[i] - mean_x)));
  return worst / y.span();
}

Accusation accuse(Role role, const char* format, double first, double at_s) {
  return {role, HealthState::implausible, said(format, first), at_s};
}

// Speed by the nominal motor over the speed that was read.
double speed_ratio(const NominalPhysics& nominal, double volt, double ampere, double speed_rev_s) {
  const double back_emf =
      volt - nominal.brush_drop_v - nominal.winding_resistance_ohm * std::abs(ampere);
  const double expected = back_emf / (2 * std::numbers::pi * nominal.machine_constant_v_s);
  return expected / std::max(speed_rev_s, 1e-9);
}

}  // namespace

std::vector<Accusation> motor_contradictions(const Survey& survey, const RawTrace& trace) {
  const std::vector<Load> loads = loads_of(survey, trace);
  if (loads.size() < kLeastLoads) return {};
  const auto volts = levels_of(survey, Role::supply_voltage, loads);
  const auto amperes = levels_of(survey, Role::supply_current, loads);
  const auto speeds = levels_of(survey, Role::speed, loads);
  if (!volts || !amperes || !speeds) return {};
  const double at = loads.front().window.start_s;
  const double ratio = speed_ratio(survey.context->model.nominal, volts->mean.front(),
                                   amperes->mean.front(), speeds->mean.front());
  if (ratio > kFar || (ratio > 0 && ratio < 1 / kFar))
    return {accuse(Role::speed, "voltage and current of this motor make %.1f times that speed",
                   ratio, at)};
  const double vi = bend(*amperes, *volts);
  const double in = bend(*amperes, *speeds);
  const double vn = bend(*volts, *speeds);
  const char* const format =
      "from load to load it does not follow the other two of voltage, current and speed (%.0f %%)";
  const bool all = vi > kBroken_VI && in > kBroken_N && vn > kBroken_N;
  if (vi > kBroken_VI && (all || in < vi / 2))
    return {accuse(Role::supply_voltage, format, 100 * vi, at)};
  if (vi > kBroken_VI) return {accuse(Role::supply_current, format, 100 * vi, at)};
  if (in > kBroken_N && vn > kBroken_N) return {accuse(Role::speed, format, 100 * in, at)};
  return {};
}

}  // namespace endgate::analysis
