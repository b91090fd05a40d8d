#include "analysis/duty_run.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <functional>
#include <string_view>

#include "analysis/calibration.h"
#include "analysis/channel_health.h"
#include "analysis/grade.h"
#include "analysis/heating_fit.h"
#include "analysis/missing_metric.h"
#include "analysis/motor_runs.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {
namespace {

constexpr std::string_view kPeakHead = "duty_peak_head";
constexpr std::string_view kPeakCase = "duty_peak_case";
constexpr std::array<std::string_view, 5> kDutyMetrics{kPeakHead, kPeakCase, "longest_on",
                                                       "duty_factor", "duty_cycle"};

// What a run of hours shows of duty.
struct DutySeen {
  HeatingFit fit;
  double last_peak_rise_k = 0;
  double first_rise_k = 0;  // when the first turn began
  int turns = 0;            // stretches with the motor on
  DutyCycle cycle;          // of the last whole turn
};

std::string_view peak_metric(const Context& context) {
  const auto& asked = context.model.metrics;
  const bool head = std::ranges::find(asked, kPeakHead) != asked.end();
  return head ? kPeakHead : kPeakCase;
}

Role node_of(std::string_view peak) {
  return peak == kPeakHead ? Role::head_temperature : Role::case_temperature;
}

// Steps in a row with the motor on, or off; the zero step before the first start is left out.
struct Span {
  bool on = false;
  double start_s = 0;
  double end_s = 0;
};

// The vent that ends every run, also one that ended while the motor ran, is no rest of a cycle.
bool is_end_of_run(const std::vector<StepMark>& steps) {
  const StepMark& last = steps.back();
  return last.kind == StepKind::vent && steps.size() > 1 &&
         motor_runs(steps[steps.size() - 2].kind) &&
         std::ranges::count(steps, last.id, &StepMark::id) == 1;
}

std::vector<Span> spans_of(const RawTrace& trace) {
  std::vector<Span> spans;
  const std::int64_t origin = origin_us(trace);
  for (const StepMark& step : trace.steps) {
    if (&step == &trace.steps.back() && is_end_of_run(trace.steps)) break;
    const bool on = motor_runs(step.kind);
    if (spans.empty() && !on) continue;
    const double end_s = seconds_from(origin, step.end_us);
    if (!spans.empty() && spans.back().on == on)
      spans.back().end_s = end_s;
    else
      spans.push_back({on, seconds_from(origin, step.start_us), end_s});
  }
  return spans;
}

Stretch stretch_of(const Span& span, const Column& node, const Column& room) {
  Stretch stretch;
  stretch.on = span.on;
  for (std::size_t i = 0; i < node.time_s.size(); ++i) {
    if (node.time_s[i] < span.start_s || node.time_s[i] > span.end_s) continue;
    const std::optional<double> room_k = interpolate(room, node.time_s[i]);
    if (!room_k) continue;
    stretch.time_s.push_back(node.time_s[i]);
    stretch.rise_k.push_back(node.value[i] - *room_k);
  }
  return stretch;
}

// The last turn that was followed by a rest; all 0 without one.
DutyCycle cycle_of(const std::vector<Span>& spans) {
  for (std::size_t i = spans.size(); i-- > 1;)
    if (!spans[i].on && spans[i - 1].on)
      return {spans[i - 1].end_s - spans[i - 1].start_s, spans[i].end_s - spans[i].start_s};
  return {};
}

Refusal missing_channel(std::string detail) {
  return {RefusalKind::missing_channel, std::move(detail), std::nullopt};
}

// A long run is kept thinned: the last sample of a stretch may lie well before its peak.
double carried_to_end(const DutySeen& seen, const std::vector<Span>& spans,
                      const std::vector<Stretch>& stretches) {
  const auto span = std::ranges::find(spans.rbegin(), spans.rend(), true, &Span::on);
  const auto last = std::ranges::find(stretches.rbegin(), stretches.rend(), true, &Stretch::on);
  if (span == spans.rend() || last == stretches.rend()) return seen.last_peak_rise_k;
  const double final_k = seen.fit.curve.final_rise_k;
  const double left_s = std::max(0.0, span->end_s - last->time_s.back());
  const double at_end_k =
      final_k + (last->rise_k.back() - final_k) * std::exp(-left_s / seen.fit.curve.tau_heating_s);
  return std::max(seen.last_peak_rise_k, at_end_k);
}

Outcome<DutySeen> look_at(const RawTrace& trace, const Context& context, Role node_role) {
  const SamplesByRole samples = calibrate(trace, context.bench);
  const Column& node = samples[index_of(node_role)].column;
  const Column& room = samples[index_of(Role::ambient_temperature)].column;
  if (node.time_s.empty())
    return missing_channel("the bench shows no " + std::string(name_of(node_role)));
  if (room.time_s.empty()) return missing_channel("the bench shows no room temperature");
  const std::vector<Span> spans = spans_of(trace);
  std::vector<Stretch> stretches;
  DutySeen seen;
  for (const Span& span : spans) {
    Stretch stretch = stretch_of(span, node, room);
    if (stretch.time_s.empty()) continue;
    if (stretch.on) {
      ++seen.turns;
      seen.last_peak_rise_k = *std::ranges::max_element(stretch.rise_k);
      if (seen.turns == 1) seen.first_rise_k = stretch.rise_k.front();
    }
    stretches.push_back(std::move(stretch));
  }
  if (seen.turns == 0)
    return Refusal{RefusalKind::missing_step, "the motor never ran", std::nullopt};
  const auto fit = fit_heating(stretches);
  if (!fit) return fit.error();
  seen.fit = *fit;
  seen.last_peak_rise_k = carried_to_end(seen, spans, stretches);
  seen.cycle = cycle_of(spans);
  return seen;
}

// By how much the peak of all turns to come exceeds that of turn n: the distance shrinks by
// exp(-on / tau_h - off / tau_c) a turn.
double still_to_come_k(const DutySeen& seen) {
  const HeatingCurve& curve = seen.fit.curve;
  const double steady_k = peak_rise_k(curve, seen.cycle);
  const double a = std::exp(-seen.cycle.on_s / curve.tau_heating_s);
  const double b = std::exp(-seen.cycle.off_s / curve.tau_cooling_s);
  const double first_k = curve.final_rise_k + (seen.first_rise_k - curve.final_rise_k) * a;
  return (steady_k - first_k) * std::pow(a * b, seen.turns - 1);
}

double u_calibration(const BenchFacts& bench, Role role, double value_si) {
  for (const ChannelFacts& channel : bench.channels)
    if (channel.role == role)
      return std::hypot(channel.calibration.u_offset_si, channel.calibration.u_gain_rel * value_si);
  return 0;
}

std::string calibration_id(const BenchFacts& bench, Role role) {
  for (const ChannelFacts& channel : bench.channels)
    if (channel.role == role) return channel.calibration.id + "/" + channel.id;
  return "calibration";
}

// u of a temperature rise, by cause.
std::vector<UncertaintyPart> parts_of(const Context& context, Role node, const DutySeen& seen,
                                      double peak_k) {
  const double room_k = context.model.reference.inlet_temperature_k;
  const Role room = Role::ambient_temperature;
  return {{"one warm body", seen.fit.misfit_k},
          {calibration_id(context.bench, node), u_calibration(context.bench, node, peak_k)},
          {calibration_id(context.bench, room), -u_calibration(context.bench, room, room_k)}};
}

double total(const std::vector<UncertaintyPart>& parts) {
  double squares = 0;
  for (const UncertaintyPart& part : parts) squares += part.u * part.u;
  return std::sqrt(squares);
}

// `parts` are of a temperature; `per_k` is how the metric moves with it.
Metric known(std::string_view id, double value, const std::vector<UncertaintyPart>& parts,
             double per_k) {
  Metric metric;
  metric.id = id;
  metric.value = value;
  metric.u = std::abs(per_k) * total(parts);
  for (const UncertaintyPart& part : parts) metric.parts.push_back({part.cause, part.u * per_k});
  return metric;
}

using OfLimit = std::function<std::optional<double>(double limit_rise_k)>;

// Moves the limit by u to both sides, or to the lower one where there is no answer above.
double slope_per_k(const OfLimit& of, double limit_k, double u_k) {
  if (u_k <= 0) return 0;
  const auto at = of(limit_k);
  const auto below = of(limit_k - u_k);
  const auto above = of(limit_k + u_k);
  if (below && above) return (*above - *below) / (2 * u_k);
  return below && at ? (*at - *below) / u_k : 0;
}

Metric longest_on(const DutySeen& seen, double limit_k, const std::vector<UncertaintyPart>& parts) {
  const OfLimit of = [&](double rise_k) { return longest_on_s(seen.fit.curve, rise_k); };
  const auto value = of(limit_k);
  if (value) return known("longest_on", *value, parts, slope_per_k(of, limit_k, total(parts)));
  char why[120];
  std::snprintf(why, sizeof why, "it may run on and on: it settles %.0f K below the cut-out",
                limit_k - seen.fit.curve.final_rise_k);
  return missing_metric("longest_on", why);
}

Metric duty_factor(const DutySeen& seen, double limit_k, double cycle_s,
                   const std::vector<UncertaintyPart>& parts) {
  const OfLimit of = [&](double rise_k) -> std::optional<double> {
    return largest_duty_factor(seen.fit.curve, rise_k, cycle_s);
  };
  return known("duty_factor", *of(limit_k), parts, slope_per_k(of, limit_k, total(parts)));
}

std::optional<double> cut_out_k(const Context& context, std::string_view peak) {
  for (const Limit& limit : context.limits.limits)
    if (limit.metric == peak) return limit.upper;
  return std::nullopt;
}

std::vector<Metric> all_missing(const Context& context, const std::string& why) {
  std::vector<Metric> metrics;
  for (const std::string& id : context.model.metrics) metrics.push_back(missing_metric(id, why));
  return metrics;
}

std::vector<Metric> metrics_of(const RawTrace& trace, const Context& context) {
  const std::string_view peak = peak_metric(context);
  const auto opens_at_k = cut_out_k(context, peak);
  if (!opens_at_k) return all_missing(context, "the trial names no temperature of its cut-out");
  const auto seen = look_at(trace, context, node_of(peak));
  if (!seen) return all_missing(context, seen.error().detail);
  const double room_k = context.model.reference.inlet_temperature_k;
  const double peak_k = room_k + seen->last_peak_rise_k + std::max(0.0, still_to_come_k(*seen));
  const auto parts = parts_of(context, node_of(peak), *seen, peak_k);
  const double limit_k = *opens_at_k - room_k;
  const double cycle_s = seen->cycle.on_s + seen->cycle.off_s;
  return {known(peak, peak_k, parts, 1), longest_on(*seen, limit_k, parts),
          duty_factor(*seen, limit_k, cycle_s, parts), known("duty_cycle", cycle_s, parts, 0)};
}

double nominal_at(const RawChannel& channel, const ChannelFacts& facts, std::size_t i) {
  return facts.scale * number_of(channel.kind, channel.raw[i]) + facts.offset_si;
}

std::string share_words(std::size_t bad, std::size_t all) {
  char text[80];
  std::snprintf(text, sizeof text, "no value in %.1f %% of its samples",
                100.0 * static_cast<double>(bad) / static_cast<double>(all));
  return text;
}

// As in a production test, single odd samples are no finding: calibrate() leaves them out.
void find_beyond_range(ChannelHealth& entry, const RawChannel& channel, const ChannelFacts& facts,
                       std::int64_t origin) {
  if (!(facts.range_max_si > facts.range_min_si)) return;
  int in_a_row = 0;
  for (std::size_t i = 0; i < channel.raw.size(); ++i) {
    if (channel.quality[i] != Quality::good) continue;
    const double value = nominal_at(channel, facts, i);
    const bool within = value >= facts.range_min_si && value <= facts.range_max_si;
    in_a_row = within ? 0 : in_a_row + 1;
    if (in_a_row < kBeyondRangeInARow) continue;
    char text[80];
    std::snprintf(text, sizeof text, "out of range (%.6g) at %.2f s", value,
                  seconds_from(origin, channel.time_us[i]));
    entry.state = HealthState::out_of_range;
    entry.detail = text;
    entry.time_us = channel.time_us[i];
    return;
  }
}

// A digest has no gaps to judge: silence ended the run while it ran.  What is left are channels
// that said nothing usable or stood still.
ChannelHealth health_of_digest(const RawChannel* channel, const ChannelFacts& facts,
                               std::int64_t origin) {
  ChannelHealth entry{facts.id, HealthState::good, "", std::nullopt};
  if (channel == nullptr || channel->raw.empty()) {
    entry.state = HealthState::missing;
    return entry;
  }
  const std::size_t all = channel->quality.size();
  const auto bad = static_cast<std::size_t>(std::ranges::count_if(
      channel->quality, [](Quality quality) { return quality != Quality::good; }));
  if (100 * bad > all) {
    entry.state = HealthState::no_value;
    entry.detail = share_words(bad, all);
    return entry;
  }
  find_beyond_range(entry, *channel, facts, origin);
  return entry;
}

bool stands_still(const RawChannel& channel) {
  return channel.raw.size() >= kLeastSamples &&
         std::ranges::all_of(channel.raw, [&](std::int64_t raw) { return raw == channel.raw[0]; });
}

std::vector<ChannelHealth> health_of(const RawTrace& trace, const Context& context) {
  const Role node = node_of(peak_metric(context));
  std::vector<ChannelHealth> health;
  for (const ChannelFacts& facts : context.bench.channels) {
    const RawChannel* channel = find_channel(trace, facts.id);
    ChannelHealth entry = health_of_digest(channel, facts, origin_us(trace));
    if (entry.state == HealthState::good && facts.role == node && stands_still(*channel)) {
      entry.state = HealthState::stuck;
      entry.detail = "the same reading through the whole run";
    }
    health.push_back(std::move(entry));
  }
  return health;
}

}  // namespace

bool asks_for_duty(const Context& context) {
  const auto is_of_duty = [](const std::string& id) {
    return std::ranges::find(kDutyMetrics, id) != kDutyMetrics.end();
  };
  const auto& asked = context.model.metrics;
  return !asked.empty() && std::ranges::all_of(asked, is_of_duty);
}

Evaluation evaluate_duty(const RawTrace& trace, const Context& context) {
  Evaluation evaluation;
  evaluation.health = health_of(trace, context);
  evaluation.curve_refusal = "a trial of duty measures no delivery";
  evaluation.metrics = metrics_of(trace, context);
  evaluation.grade = grade(
      context, trace, {evaluation.health, evaluation.curve, evaluation.metrics, evaluation.drawn});
  return evaluation;
}

}  // namespace endgate::analysis
