#include "analysis/health_timing.h"

#include <algorithm>
#include <cmath>

#include "analysis/motor_runs.h"
#include "analysis/rise_end.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kBefore_s = 0.5;
constexpr double kAfter_s = 0.3;
constexpr double kArrival_s = 0.1;
constexpr double kLeastStep = 0.2;  // of the current's larger level

std::optional<double> level(const Samples& samples, const Window& window) {
  const IndexRange range = inside(samples.column.time_s, window);
  if (range.count() < 5) return std::nullopt;
  return mean_of(std::span(samples.column.value).subspan(range.first, range.count()));
}

// Trapezes between the samples of the window.
double integral(const Column& column, const Window& window, double less) {
  const IndexRange range = inside(column.time_s, window);
  if (range.count() < 2) return 0;
  return sum_over(range.count() - 1, [&](std::size_t k) {
    const std::size_t i = range.first + k;
    const double middle = (column.value[i] + column.value[i + 1]) / 2 - less;
    return middle * (column.time_s[i + 1] - column.time_s[i]);
  });
}

// (1), for a ramp that begins at this moment.
std::optional<double> delay(const Survey& survey, Role role, double start_s) {
  const Samples& samples = survey.samples[index_of(role)];
  if (!survey.usable(role) || samples.facts == nullptr) return std::nullopt;
  const auto before = level(samples, {start_s - kBefore_s, start_s});
  const auto after = level(samples, {start_s + kRamp_s - kAfter_s, start_s + kRamp_s});
  if (!before || !after || *before == *after) return std::nullopt;
  const double missing = integral(samples.column, {start_s, start_s + kRamp_s}, *after);
  return missing / (*before - *after) - samples.facts->lag_s;
}

// Where the current changes most from one hold to the next.
std::optional<double> ramp_start(const Survey& survey, const RawTrace& trace) {
  if (!survey.usable(Role::supply_current)) return std::nullopt;
  const Samples& current = survey.samples[index_of(Role::supply_current)];
  std::optional<double> found;
  double largest = kLeastStep;
  for (std::size_t i = 1; i < trace.steps.size(); ++i) {
    const StepMark& step = trace.steps[i];
    if (step.kind != StepKind::hold || trace.steps[i - 1].kind != StepKind::hold) continue;
    const Window window = window_of(step, origin_us(trace));
    if (step.end != StepEnd::complete || window.length_s() < kRamp_s) continue;
    const auto before = level(current, {window.start_s - kBefore_s, window.start_s});
    const auto after = level(current, {window.end_s - kBefore_s, window.end_s});
    if (!before || !after) continue;
    const double change = std::abs(*after - *before) / std::max(std::abs(*after), 1e-9);
    if (change <= largest) continue;
    largest = change;
    found = window.start_s;
  }
  return found;
}

Accusation late(Role role, double late_s, double at_s) {
  return {role, HealthState::implausible,
          said("%.2f s late against the others when the load changed at %.1f s", late_s, at_s),
          at_s};
}

// Against the pressure, at the end of a rise; 0 where warming explains it.
double late_on_rise_s(const Survey& survey, const RiseEnd& end, Role role) {
  const auto of = [&](std::size_t hold, Role one) -> const Moments& {
    return survey.holds[hold].moments[index_of(one)];
  };
  const Moments& rise = of(end.stretch, role);
  const Moments& gauge = of(end.stretch, Role::discharge_pressure);
  const Moments& rest = of(end.hold, role);
  const double gap = gap_of({rise.mean, rise.slope_s, gauge.mean, gauge.slope_s},
                            {rest.mean, of(end.hold, Role::discharge_pressure).mean});
  return std::abs(gap) > kWarming * std::abs(rest.mean) ? gap / rise.slope_s : 0;
}

std::vector<Accusation> late_on_rise(const Survey& survey, const RiseEnd& end) {
  if (!survey.usable(Role::supply_current) || !survey.usable(Role::speed)) return {};
  const double current_s = late_on_rise_s(survey, end, Role::supply_current);
  const double speed_s = late_on_rise_s(survey, end, Role::speed);
  const double at_s = survey.holds[end.stretch].window->start_s;
  const double earliest_s = std::min(current_s, speed_s);
  if (earliest_s < -kEarlyOnRise_s) return {late(Role::discharge_pressure, -earliest_s, at_s)};
  if (current_s > kLateOnRise_s) return {late(Role::supply_current, current_s, at_s)};
  if (speed_s > kLateOnRise_s) return {late(Role::speed, speed_s, at_s)};
  return {};
}

std::vector<Accusation> late_on_ramp(const Survey& survey, const RawTrace& trace) {
  const std::optional<double> start = ramp_start(survey, trace);
  if (!start) return {};
  const auto pressure = delay(survey, Role::discharge_pressure, *start);
  const auto current = delay(survey, Role::supply_current, *start);
  const auto speed = delay(survey, Role::speed, *start);
  if (!pressure || !current || !speed) return {};
  const double p = *pressure - kBend_s;
  const bool pi = std::abs(p - *current) > kLate_s;
  const bool pn = std::abs(p - *speed) > kLate_s;
  const bool in = std::abs(*current - *speed) > kLate_s;
  if (pi && pn) return {late(Role::discharge_pressure, p - *current, *start)};
  if (pi && in) return {late(Role::supply_current, *current - p, *start)};
  if (pn && in) return {late(Role::speed, *speed - p, *start)};
  return {};
}

std::vector<Accusation> never_arrived(const Survey& survey, const RawTrace& trace) {
  if (!survey.usable(Role::discharge_pressure)) return {};
  for (const StepMark& step : trace.steps) {
    if (!rises(step.kind) || step.end != StepEnd::complete) continue;
    const double end_s = window_of(step, origin_us(trace)).end_s;
    const auto reached =
        level(survey.samples[index_of(Role::discharge_pressure)], {end_s - kArrival_s, end_s});
    if (!reached || *reached > step.target_gauge_pa - kShort_pa) continue;
    return {{Role::discharge_pressure, HealthState::implausible,
             said("shows %.0f kPa where the rise ended at %.0f kPa", *reached / 1e3,
                  step.target_gauge_pa / 1e3),
             end_s}};
  }
  return {};
}

std::vector<Accusation> late_when_shut(const Survey& survey, const RawTrace& trace) {
  const StepMark* leak = complete_step(trace, StepKind::back_leak);
  if (leak == nullptr || !leak->ready_us || !survey.usable(Role::flow)) return {};
  const Samples& flow = survey.samples[index_of(Role::flow)];
  const double shut = seconds_from(origin_us(trace), *leak->ready_us);
  const auto first = level(flow, {shut, shut + 0.1});
  const auto last = level(flow, {shut + kShut_s - kAfter_s, shut + kShut_s});
  if (!first || !last || !(*first - *last > 50 * flow.facts->noise_sigma_si)) return {};
  const double lag = integral(flow.column, {shut, shut + kShut_s}, *last) / (*first - *last);
  if (lag <= 2 * flow.facts->lag_s + 0.1) return {};
  return {{Role::flow, HealthState::implausible,
           said("follows with %.2f s where %.2f s are stated", lag, flow.facts->lag_s), shut}};
}

}  // namespace

std::vector<Accusation> out_of_time(const Survey& survey, const RawTrace& trace) {
  const std::optional<RiseEnd> end = rise_end(survey);
  std::vector<Accusation> all = end ? late_on_rise(survey, *end) : late_on_ramp(survey, trace);
  for (const auto check : {never_arrived, late_when_shut}) {
    std::vector<Accusation> more = check(survey, trace);
    all.insert(all.end(), more.begin(), more.end());
  }
  return all;
}

}  // namespace endgate::analysis
