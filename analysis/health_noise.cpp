#include "analysis/health_noise.h"

#include <algorithm>
#include <cmath>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kSettle_s = 0.5;  // of the puff of clamping
constexpr double kAfterValve_s = 1;
constexpr double kBurst_s = 0.4;
constexpr double kLongHold_s = 60;  // of a longer one its end
constexpr std::size_t kLeastStretches = 6;

bool shaken_by_the_unit(Role role) {
  return role == Role::discharge_pressure || role == Role::flow || role == Role::supply_voltage ||
         role == Role::supply_current || role == Role::speed || role == Role::seal_pressure;
}

std::vector<Window> windows_at_rest(Role role, const RawTrace& trace) {
  std::vector<Window> windows;
  const std::int64_t origin = origin_us(trace);
  if (const StepMark* zero = complete_step(trace, StepKind::zero)) {
    windows.push_back(window_of(*zero, origin));
    windows.back().start_s += kSettle_s;
  }
  const StepMark* leak = complete_step(trace, StepKind::back_leak);
  if (leak != nullptr && leak->ready_us && role != Role::seal_pressure)
    windows.push_back({seconds_from(origin, *leak->ready_us) + kAfterValve_s,
                       seconds_from(origin, leak->end_us)});
  return windows;
}

// Mean square of the second differences, without the largest.
double bend_square(const Column& column, const IndexRange& range, std::size_t leave_out) {
  std::vector<double> squares;
  for (std::size_t i = range.first; i + 2 < range.last; ++i) {
    const double* y = &column.value[i];
    squares.push_back(std::pow(y[0] - 2 * y[1] + y[2], 2));
  }
  std::sort(squares.begin(), squares.end());
  squares.resize(squares.size() - leave_out);
  return mean_of(squares).value_or(0);
}

// What counts of the holds, cut into short stretches.
std::vector<Window> stretches_of_holds(const RawTrace& trace) {
  std::vector<Window> stretches;
  for (const StepMark& step : trace.steps) {
    if (step.kind != StepKind::hold || step.end != StepEnd::complete || !step.ready_us) continue;
    const double end = window_of(step, origin_us(trace)).end_s;
    const double start = seconds_from(origin_us(trace), *step.ready_us) + kAfterValve_s;
    for (double from = end - kBurst_s; from >= std::max(start, end - kLongHold_s); from -= kBurst_s)
      stretches.push_back({from, from + kBurst_s});
  }
  return stretches;
}

}  // namespace

std::vector<Window> noise_windows(Role role, const RawTrace& trace) {
  if (shaken_by_the_unit(role)) return windows_at_rest(role, trace);
  if (trace.steps.empty()) return {};
  const std::int64_t origin = origin_us(trace);
  return {{seconds_from(origin, trace.steps.front().start_us),
           seconds_from(origin, trace.steps.back().end_us)}};
}

double excess_noise(const Column& column, const Window& window, const SampleNoise& noise,
                    std::size_t leave_out) {
  const IndexRange range = inside(column.time_s, window);
  if (range.count() < kNoisyCount) return 0;
  const double found = bend_square(column, range, leave_out);
  const double length = column.time_s[range.last - 1] - column.time_s[range.first];
  const double gap = length / static_cast<double>(range.count() - 1);
  const double r = noise.correlation_s > 0 ? std::exp(-gap / noise.correlation_s) : 0;
  const double expected = noise.sigma_si * noise.sigma_si * (6 - 8 * r + 2 * r * r) +
                          noise.resolution_si * noise.resolution_si / 2;
  return expected > 0 ? std::sqrt(found / expected) : 0;
}

MaybeAccusation noisy(Role role, const Samples& samples, const RawTrace& trace,
                      std::size_t leave_out) {
  for (const Window& window : noise_windows(role, trace)) {
    const double excess = excess_noise(samples.column, window, stated_noise(samples), leave_out);
    if (excess > kNoisy)
      return Accusation{
          role, HealthState::noisy,
          said("%.0f times as noisy as stated, from %.1f s on", excess, window.start_s),
          window.start_s};
  }
  return std::nullopt;
}

MaybeAccusation bursting(Role role, const Samples& samples, const RawTrace& trace) {
  if (!shaken_by_the_unit(role) || role == Role::seal_pressure) return std::nullopt;
  std::vector<std::pair<double, double>> found;  // root mean square bend, where
  for (const Window& window : stretches_of_holds(trace)) {
    const IndexRange range = inside(samples.column.time_s, window);
    if (range.count() >= kNoisyCount)
      found.emplace_back(std::sqrt(bend_square(samples.column, range, kOfOneJump)), window.start_s);
  }
  if (found.size() < kLeastStretches) return std::nullopt;
  std::sort(found.begin(), found.end());
  const double usual = std::max(
      {found[found.size() / 2].first, stated_noise(samples).sigma_si, samples.resolution_si});
  const auto& [worst, at] = found.back();
  if (worst <= kBurst * usual) return std::nullopt;
  return Accusation{
      role, HealthState::noisy,
      said("%.0f times as noisy as in the rest of the test, at %.1f s", worst / usual, at), at};
}

}  // namespace endgate::analysis
