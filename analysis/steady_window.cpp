#include "analysis/steady_window.h"

#include <algorithm>
#include <cmath>
#include <cstdio>

namespace endgate::analysis {
namespace {

constexpr int kLaterParts = 3;  // shorter windows tried when the whole drifts

Refusal refusal(RefusalKind kind, const char* format, double first = 0, double second = 0) {
  char buffer[160];
  std::snprintf(buffer, sizeof buffer, format, first, second);
  return {kind, buffer, std::nullopt};
}

}  // namespace

Outcome<Window> settled_stretch(const StepMark& step, std::int64_t origin_us,
                                const SteadyRule& rule) {
  if (!step.ready_us) return refusal(RefusalKind::missing_step, "the set point was never reached");
  const Window window{seconds_from(origin_us, *step.ready_us) + rule.settle_s,
                      seconds_from(origin_us, step.end_us)};
  if (!(window.length_s() >= std::max(rule.min_window_s, 0.1)))
    return refusal(RefusalKind::missing_step, "only %.1f s left after settling, %.1f s needed",
                   std::max(0.0, window.length_s()), rule.min_window_s);
  return window;
}

Window whole_turns(const Window& window, double speed_rev_s) {
  const double turns = std::floor(window.length_s() * speed_rev_s);
  if (!(speed_rev_s > 1) || !(turns >= 1)) return window;
  return {window.end_s - turns / speed_rev_s, window.end_s};
}

Drift drift_of(const Moments& inflow, const Window& window, const SteadyRule& rule) {
  const double level = std::max(std::abs(inflow.mean), 1e-12);
  const double length = window.length_s();
  Drift drift;
  drift.relative = inflow.slope_s * length / level;
  const double u = inflow.u_slope_s * length / level;
  drift.bound = std::abs(drift.relative) + 2 * u;
  drift.allowed = std::max(rule.max_drift_rel, 6 * u);
  return drift;
}

Outcome<SteadyStretch> steady_stretch(const Window& settled, const Column& inflow,
                                      const SampleNoise& noise, const SteadyRule& rule) {
  const double spare = std::max(0.0, settled.length_s() - rule.min_window_s);
  Drift first;
  for (int part = 0; part <= kLaterParts; ++part) {
    const Window window{settled.start_s + spare * part / kLaterParts, settled.end_s};
    const std::optional<Moments> moments = moments_in(inflow, window, noise, 0);
    if (!moments || moments->count < 3)
      return refusal(RefusalKind::missing_channel, "no flow samples in the steady stretch");
    const Drift drift = drift_of(*moments, window, rule);
    if (drift.steady()) return SteadyStretch{window, drift.relative};
    if (part == 0) first = drift;
  }
  return refusal(RefusalKind::not_steady, "flow drifts by %.2f %% over the window, %.2f %% allowed",
                 100 * first.relative, 100 * first.allowed);
}

}  // namespace endgate::analysis
