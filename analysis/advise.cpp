#include "analysis/advise.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analysis/advise_between.h"
#include "analysis/advise_leak.h"
#include "analysis/advise_look.h"
#include "analysis/conclusion.h"
#include "analysis/limit_subject.h"

namespace endgate::analysis {
namespace {

// The product of powers of independent quantities, relative uncertainties in quadrature.
Standpoint ratio(double value, std::initializer_list<Standpoint> factors) {
  double random = 0, systematic = 0;
  for (const Standpoint& factor : factors) {
    random = std::hypot(random, factor.u_random / factor.value);
    systematic = std::hypot(systematic, factor.u_systematic / factor.value);
  }
  return {value, std::abs(value) * random, std::abs(value) * systematic};
}

std::optional<Standpoint> standpoint(const MetricRecipe& metric, const Seen& seen,
                                     const ModelFacts& model) {
  const auto& [flow, speed, current] = seen;
  switch (metric.kind) {
    case MetricKind::flow:
      return flow;
    case MetricKind::speed:
      return speed;
    case MetricKind::current:
      return current;
    case MetricKind::volumetric_efficiency:
      return ratio(flow.value / (model.nominal.swept_volume_m3 * speed.value), {flow, speed});
    case MetricKind::specific_energy:
      return ratio(model.reference.supply_voltage_v * current.value / flow.value, {flow, current});
    case MetricKind::isothermal_efficiency: {
      const double inlet_pa = model.reference.inlet_pressure_abs_pa;
      const double work = inlet_pa * std::log(1 + metric.gauge_pa / inlet_pa);
      return ratio(work * flow.value / (model.reference.supply_voltage_v * current.value),
                   {flow, current});
    }
    default:
      return std::nullopt;
  }
}

// Does the metric rest on what a hold at its pressure shows?
bool is_of_a_hold(MetricKind kind) {
  switch (kind) {
    case MetricKind::flow:
    case MetricKind::speed:
    case MetricKind::current:
    case MetricKind::volumetric_efficiency:
    case MetricKind::specific_energy:
    case MetricKind::isothermal_efficiency:
    case MetricKind::torque:
    case MetricKind::motor_efficiency:
    case MetricKind::ripple_speed:
    case MetricKind::ripple_lock:
    case MetricKind::cylinder_imbalance:
    case MetricKind::commutator_irregularity:
      return true;
    default:
      return false;
  }
}

const MetricRecipe* recipe_of(std::string_view metric) {
  const auto found = std::ranges::find(kMetrics, metric, &MetricRecipe::id);
  return found == kMetrics.end() ? nullptr : &*found;
}

// The limits that hang on the hold under way, one after the other.
class LimitsHere {
 public:
  LimitsHere(const StepSums& sums, const Context& context, const Seen& now)
      : sums_(sums), context_(context), now_(now), between_(sums, context, now) {}

  [[nodiscard]] std::vector<Certainty> run() {
    for (const Limit& limit : context_.limits.limits) take(limit);
    return std::move(found_);
  }

 private:
  void take(const Limit& limit) {
    if (limit.metric == kCurveSubject) return take_band(limit);
    if (const auto relation = relation_in(limit.metric)) {
      // Its line is not weighed here.
      if (hangs_here(relation->metric) || hangs_here(relation->against))
        found_.push_back(Certainty::open);
      return;
    }
    const MetricRecipe* metric = recipe_of(limit.metric);
    if (metric == nullptr || !is_of_a_hold(metric->kind)) return;
    const std::optional<Seen> seen = seen_at(metric->gauge_pa);
    if (!seen) return;
    const auto point = standpoint(*metric, *seen, context_.model);
    found_.push_back(point ? certainty_of(*point, limit) : Certainty::open);
  }

  void take_band(const Limit& limit) {
    for (const BandPoint& point : limit.points) {
      const std::optional<Seen> seen = seen_at(point.gauge_pa);
      if (!seen) continue;
      Limit there = limit;
      there.lower = point.lower;
      there.upper = point.upper;
      found_.push_back(certainty_of(seen->flow, there));
    }
  }

  [[nodiscard]] bool is_here(double gauge_pa) const {
    return std::abs(gauge_pa - sums_.target_gauge_pa) < kSameTarget_pa;
  }
  [[nodiscard]] bool hangs_here(std::string_view id) const {
    const MetricRecipe* metric = recipe_of(id);
    return metric != nullptr && is_of_a_hold(metric->kind) &&
           (is_here(metric->gauge_pa) || between_.covers(metric->gauge_pa));
  }
  [[nodiscard]] std::optional<Seen> seen_at(double gauge_pa) const {
    return is_here(gauge_pa) ? now_ : between_.at(gauge_pa);
  }

  const StepSums& sums_;
  const Context& context_;
  const Seen& now_;
  const Between between_;
  std::vector<Certainty> found_;
};

bool is_on_target(const Standpoint& point) {
  return point.u_random <= kTargetShare * point.u_systematic;
}

AdviceKind kind_of(const StepSums& sums, const Context& context) {
  if (is_leak(sums.kind)) return advise_leak(sums, context);
  HoldLook look(sums, context);
  if (!look.take() || !look.long_enough() || !look.steady()) return AdviceKind::keep_on;
  const Seen seen = look.seen();
  const std::vector<Certainty> found = LimitsHere(sums, context, seen).run();
  const bool any_open = std::ranges::count(found, Certainty::open) > 0;
  const bool any_never = std::ranges::count(found, Certainty::never) > 0;
  if (!found.empty() && !any_open)
    return any_never ? AdviceKind::cannot_decide : AdviceKind::decided;
  const bool met =
      is_on_target(seen.flow) && is_on_target(seen.speed) && is_on_target(seen.current);
  return met ? AdviceKind::target_met : AdviceKind::keep_on;
}

// On which side of one bound?
enum class AtBound : std::uint8_t { inside, beyond, open, never };

// One bound, seen so that inside is above it.
AtBound at_bound(double above, const Standpoint& point, const Limit& limit) {
  const bool guarded = limit.guard == GuardRule::factor;
  const double pass = guarded ? limit.pass_factor : 0;
  double fail = guarded ? limit.fail_factor : 0;
  if (pass + fail < 0) fail = -pass;  // G-3 of analysis/grade.h: both bounds become T + w
  const double u = std::hypot(point.u_random, point.u_systematic);
  const double slack = kSafety * point.u_random;
  if (above - pass * u > slack) return AtBound::inside;
  if (-above - fail * u > slack) return AtBound::beyond;
  const double us = point.u_systematic;
  return above > slack - fail * us && above < pass * us - slack ? AtBound::never : AtBound::open;
}

}  // namespace

Certainty certainty_of(const Standpoint& point, const Limit& limit) {
  std::vector<double> above;
  if (limit.lower) above.push_back(point.value - *limit.lower);
  if (limit.upper) above.push_back(*limit.upper - point.value);
  bool open = false, never = false;
  for (const double each : above) {
    const AtBound here = at_bound(each, point, limit);
    if (here == AtBound::beyond) return Certainty::certain;
    open = open || here == AtBound::open;
    never = never || here == AtBound::never;
  }
  return open ? Certainty::open : never ? Certainty::never : Certainty::certain;
}

const char* word_of(AdviceKind kind) {
  switch (kind) {
    case AdviceKind::keep_on:
      return "keep on";
    case AdviceKind::decided:
      return "decided";
    case AdviceKind::target_met:
      return "target met";
    case AdviceKind::cannot_decide:
      return "more dwell cannot decide";
  }
  return "keep on";
}

std::vector<Role> needed_for_advice(StepKind kind) {
  if (kind == StepKind::hold) return {kNeededForLook.begin(), kNeededForLook.end()};
  std::vector<Role> needed = {Role::discharge_pressure,  Role::flow,
                              Role::barometric_pressure, Role::ambient_temperature,
                              Role::head_temperature,    Role::relative_humidity,
                              Role::case_temperature};
  if (kind == StepKind::seal_leak) needed.push_back(Role::seal_pressure);
  return needed;
}

Advice advise(const StepSums& sums, const Context& context) {
  return {sums.step_id, kind_of(sums, context), sums.now_s};
}

}  // namespace endgate::analysis
