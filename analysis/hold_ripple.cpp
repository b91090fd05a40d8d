#include "analysis/hold_ripple.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <span>

#include "analysis/sum.h"
#include "analysis/waveform_bursts.h"

namespace endgate::analysis {
namespace {

Refusal no_ripple(std::string detail) {
  return {RefusalKind::missing_channel, std::move(detail), {}};
}

// Independent values of the same weight.
WithU mean_with_u(std::span<const WithU> values) {
  const auto n = static_cast<double>(values.size());
  const double sum = sum_over(values.size(), [&](std::size_t i) { return values[i].value; });
  const double squares =
      sum_over(values.size(), [&](std::size_t i) { return values[i].u * values[i].u; });
  return {sum / n, std::sqrt(squares) / n};
}

using Ratio = std::optional<RippleRatio> (*)(const RippleSpeed&);

Outcome<WithU> ratio_over(std::span<const RippleSpeed> ripples, Ratio ratio, const char* why_not) {
  std::vector<WithU> values;
  for (const RippleSpeed& ripple : ripples)
    if (const auto found = ratio(ripple)) values.push_back({found->value, found->u});
  if (values.size() < ripples.size()) return no_ripple(why_not);
  return mean_with_u(values);
}

bool differ(std::span<const RippleSpeed> ripples) {
  const auto [slow, fast] = std::ranges::minmax_element(ripples, {}, &RippleSpeed::speed_rev_s);
  return fast->speed_rev_s - slow->speed_rev_s > kBurstsDiffer * slow->speed_rev_s;
}

HoldRipple joined(std::span<const RippleSpeed> ripples, int cylinders) {
  HoldRipple hold;
  std::vector<WithU> speeds;
  for (const RippleSpeed& ripple : ripples) speeds.push_back({ripple.speed_rev_s, ripple.u_rev_s});
  hold.speed_rev_s = mean_with_u(speeds);
  const auto least = std::ranges::min_element(ripples, {}, &RippleSpeed::lock_probability);
  hold.lock_probability = differ(ripples) ? 0 : least->lock_probability;
  if (cylinders == 2)
    hold.imbalance_found = ratio_over(ripples, cylinder_imbalance,
                                      "the current shows no line at twice the crank frequency");
  else
    hold.imbalance_found = no_ripple("it is that of a unit with two cylinders");
  hold.irregularity_found =
      ratio_over(ripples, commutator_irregularity,
                 "the current shows no commutation, or the motor has too few commutations");
  return hold;
}

}  // namespace

Refusal HoldRipple::not_sure() const {
  char text[160];
  std::snprintf(text, sizeof text,
                "the speed found in the current is only %.1f %% sure, %.0f %% are needed",
                100 * std::min(lock_probability, 0.989), 100 * kSureLock);
  return {RefusalKind::not_steady, text, {}};
}

Outcome<WithU> HoldRipple::speed() const {
  if (!sure()) return not_sure();
  return speed_rev_s;
}

Outcome<WithU> HoldRipple::imbalance() const {
  if (!sure()) return not_sure();
  return imbalance_found;
}

Outcome<WithU> HoldRipple::irregularity() const {
  if (!sure()) return not_sure();
  return irregularity_found;
}

Outcome<HoldRipple> ripple_of_hold(const RawTrace& trace, const Context& context,
                                   const StepMark& step) {
  if (!context.bench.current_waveform) return no_ripple("the bench has no waveform of the current");
  if (!context.model.ripple.known())
    return no_ripple("the model file does not say how often its motor commutates in a turn");
  const WaveformBursts found = waveform_bursts(trace, *context.bench.current_waveform, step);
  if (found.bursts.empty()) return no_ripple(found.why_none);
  std::vector<RippleSpeed> ripples;
  for (const WaveformBurst& burst : found.bursts) {
    const Outcome<RippleSpeed> ripple =
        ripple_speed(burst.current_a, burst.rate_hz, context.model.ripple);
    if (!ripple) return ripple.error();
    ripples.push_back(*ripple);
  }
  return joined(ripples, context.model.nominal.cylinders);
}

}  // namespace endgate::analysis
