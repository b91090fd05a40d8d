#include "analysis/health_noise.h"

#include <cmath>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kSettle_s = 0.5;  // of the puff of clamping
constexpr double kAfterValve_s = 1;

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

std::vector<Window> windows_of(Role role, const RawTrace& trace) {
  if (shaken_by_the_unit(role)) return windows_at_rest(role, trace);
  if (trace.steps.empty()) return {};
  const std::int64_t origin = origin_us(trace);
  return {{seconds_from(origin, trace.steps.front().start_us),
           seconds_from(origin, trace.steps.back().end_us)}};
}

}  // namespace

double excess_noise(const Column& column, const Window& window, const SampleNoise& noise) {
  const IndexRange range = inside(column.time_s, window);
  if (range.count() < kNoisyCount) return 0;
  const double count = static_cast<double>(range.count() - 2);
  const double found = sum_over(range.count() - 2,
                                [&](std::size_t k) {
                                  const double* y = &column.value[range.first + k];
                                  const double bend = y[0] - 2 * y[1] + y[2];
                                  return bend * bend;
                                }) /
                       count;
  const double length = column.time_s[range.last - 1] - column.time_s[range.first];
  const double gap = length / static_cast<double>(range.count() - 1);
  const double r = noise.correlation_s > 0 ? std::exp(-gap / noise.correlation_s) : 0;
  const double expected = noise.sigma_si * noise.sigma_si * (6 - 8 * r + 2 * r * r) +
                          noise.resolution_si * noise.resolution_si / 2;
  return expected > 0 ? std::sqrt(found / expected) : 0;
}

MaybeAccusation noisy(Role role, const Samples& samples, const RawTrace& trace) {
  for (const Window& window : windows_of(role, trace)) {
    const double excess = excess_noise(samples.column, window, stated_noise(samples));
    if (excess > kNoisy)
      return Accusation{
          role, HealthState::noisy,
          said("%.0f times as noisy as stated, from %.1f s on", excess, window.start_s),
          window.start_s};
  }
  return std::nullopt;
}

}  // namespace endgate::analysis
