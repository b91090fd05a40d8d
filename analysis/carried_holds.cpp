#include "analysis/carried_holds.h"

#include <algorithm>
#include <array>

#include "analysis/reference_conditions.h"
#include "analysis/rise_end.h"

namespace endgate::analysis {
namespace {

std::vector<double> scaled(std::vector<double> values, double factor) {
  for (double& value : values) value *= factor;
  return values;
}

std::vector<Carried> carried(const Survey& survey, const Plan& plan, const Measured& measured,
                             const Knobs& knobs) {
  std::vector<Carried> holds;
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    if (!survey.holds[i].window) continue;
    const HoldReading& reading = measured.holds[i];
    const auto slope = [&](Role role) { return survey.holds[i].moments[index_of(role)].slope_s; };
    const Carry carry =
        carry_of(survey.context->model, plan.sensitivities[i], reading.state, knobs);
    holds.push_back({.gauge_pa = reading.state.discharge_gauge_pa,
                     .speed_rev_s = reading.speed_rev_s * carry.speed,
                     .current_a = reading.supply_current_a * carry.current,
                     .flow_m3_s = reading.flow_inlet_m3_s * carry.flow,
                     .weight_u_m3_s = plan.weight_u_m3_s[i],
                     .steady = survey.holds[i].steady,
                     .ripple_speed_rev_s = reading.ripple_speed_rev_s * carry.speed,
                     .hold = i,
                     .form_share = plan.form_share[i],
                     .beside_m3_s = reading.beside_curve_m3_s * carry.flow,
                     .shared_m3_s = scaled(plan.shared_m3_s[i], carry.flow),
                     .rising = survey.holds[i].rising,
                     .current_slope_a_s = slope(Role::supply_current) * carry.current,
                     .speed_slope_rev_s2 = slope(Role::speed) * carry.speed});
  }
  return holds;
}

struct Settled {
  Role role;
  double Carried::*value;
  double Carried::*slope_s;
  double (TypeTable::*nominal)(double) const;
};
constexpr std::array kSettled = {
    Settled{Role::supply_current, &Carried::current_a, &Carried::current_slope_a_s,
            &TypeTable::current_a},
    Settled{Role::speed, &Carried::speed_rev_s, &Carried::speed_slope_rev_s2,
            &TypeTable::speed_rev_s},
};

void settle(const Settled& what, const TypeTable& type, const RiseEnd& end,
            std::vector<Carried>& holds) {
  const auto of = [&](std::size_t hold) { return *std::ranges::find(holds, hold, &Carried::hold); };
  const auto ratio = [&](const Carried& hold) {
    return hold.*what.value / (type.*what.nominal)(hold.gauge_pa);
  };
  const Carried rise = of(end.stretch);
  const Carried before = of(end.before);
  const Carried rest = of(end.hold);
  const double slope_s = rise.*what.slope_s;
  if (slope_s == 0) return;
  // By how much the gap at the last stretch moves a stretch of another slope.
  const auto share = [&](const Carried& hold) {
    return std::clamp(hold.*what.slope_s / slope_s, 0.0, kMostOfGap);
  };
  const auto per_gap = [&](const Carried& hold) {
    return share(hold) / (type.*what.nominal)(hold.gauge_pa);
  };
  const double on = (rest.gauge_pa - rise.gauge_pa) / (rise.gauge_pa - before.gauge_pa);
  const double arrived = (1 + on) * ratio(rise) - on * ratio(before);
  // Far from the hold and with a steep stretch before, the two would cancel and the gap run away.
  const double per_arrived =
      std::max((1 + on) * per_gap(rise) - on * per_gap(before), per_gap(rise) / 2);
  const double gap = (ratio(rest) - arrived) / per_arrived;
  for (Carried& hold : holds)
    if (hold.rising) hold.*what.value += gap * share(hold);
}

void settle_rise(const Survey& survey, const TypeTable& type, std::vector<Carried>& holds) {
  const std::optional<RiseEnd> end = rise_end(survey);
  if (!end) return;
  for (const Settled& what : kSettled)
    if (survey.usable(what.role)) settle(what, type, *end, holds);
}

}  // namespace

std::vector<Carried> carried_holds(const Survey& survey, const Plan& plan, const Measured& measured,
                                   const Knobs& knobs) {
  std::vector<Carried> holds = carried(survey, plan, measured, knobs);
  settle_rise(survey, *plan.type, holds);
  return holds;
}

}  // namespace endgate::analysis
