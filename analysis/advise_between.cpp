#include "analysis/advise_between.h"

#include <algorithm>
#include <cmath>

#include "analysis/type_model.h"

namespace endgate::analysis {
namespace {

std::optional<Seen> seen_before(const StepSums& sums, const Context& context) {
  if (!sums.before) return std::nullopt;
  StepSums then = sums;
  then.target_gauge_pa = sums.before->target_gauge_pa;
  then.receiver = sums.before->receiver;
  then.dwell = sums.before->dwell;
  then.now_s = sums.before->end_s;
  then.before.reset();
  HoldLook look(then, context);
  if (!look.take()) return std::nullopt;
  return look.seen();
}

Outcome<TypeState> nominal_at(const ModelFacts& model, double gauge_pa) {
  return solve_type_model(model.nominal, {model.reference.supply_voltage_v, gauge_pa,
                                          model.reference.inlet_pressure_abs_pa});
}

// (1), with what the bow of the nominal unit adds to the straight line.
Standpoint joined(const Standpoint& before, const Standpoint& now, double t, double bow) {
  return {
      (1 - t) * before.value + t * now.value + bow, t * now.u_random,
      std::hypot((1 - t) * before.u_systematic + t * now.u_systematic, (1 - t) * before.u_random)};
}

}  // namespace

Between::Between(const StepSums& sums, const Context& context, const Seen& now)
    : sums_(sums), context_(context), now_(now), before_(seen_before(sums, context)) {}

bool Between::covers(double gauge_pa) const {
  if (!before_) return false;
  const auto [low, high] = std::minmax(sums_.before->target_gauge_pa, sums_.target_gauge_pa);
  return gauge_pa > low + kSameTarget_pa && gauge_pa < high - kSameTarget_pa;
}

std::optional<Seen> Between::at(double gauge_pa) const {
  if (!covers(gauge_pa)) return std::nullopt;
  const double p0 = sums_.before->target_gauge_pa;
  const double p1 = sums_.target_gauge_pa;
  const auto s0 = nominal_at(context_.model, p0);
  const auto s1 = nominal_at(context_.model, p1);
  const auto s = nominal_at(context_.model, gauge_pa);
  if (!s0 || !s1 || !s) return std::nullopt;
  const double t = (gauge_pa - p0) / (p1 - p0);
  const auto bow = [&](double TypeState::*quantity) {
    return (*s).*quantity - (1 - t) * (*s0).*quantity - t * (*s1).*quantity;
  };
  return Seen{joined(before_->flow, now_.flow, t, bow(&TypeState::flow_inlet_m3_s)),
              joined(before_->speed, now_.speed, t, bow(&TypeState::speed_rev_s)),
              joined(before_->current, now_.current, t, bow(&TypeState::supply_current_a))};
}

}  // namespace endgate::analysis
