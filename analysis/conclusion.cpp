#include "analysis/conclusion.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "analysis/carried_holds.h"
#include "analysis/curve.h"
#include "analysis/motor_constants.h"
#include "analysis/refused.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kDeadHeadSearch_pa = 10e6;
constexpr int kBisections = 40;

using Roles = std::initializer_list<Role>;
constexpr Roles kCarryRoles = {Role::discharge_pressure, Role::barometric_pressure,
                               Role::supply_voltage, Role::ambient_temperature,
                               Role::case_temperature};
constexpr Roles kFlowAnswerRoles = {Role::flow, Role::speed, Role::head_temperature,
                                    Role::relative_humidity};

std::optional<Refusal> sick_among(const Survey& survey, Roles roles) {
  for (const Role role : roles)
    if (!survey.usable(role))
      return refused(RefusalKind::sick_channel, survey.sick[index_of(role)]);
  return std::nullopt;
}

std::optional<Refusal> sick_for(const Survey& survey, Roles own) {
  if (auto refusal = sick_among(survey, kCarryRoles)) return refusal;
  return sick_among(survey, own);
}

class Concluder {
 public:
  Concluder(const Survey& survey, const Plan& plan, const Measured& measured, const Knobs& knobs)
      : survey_(survey),
        model_(survey.context->model),
        plan_(plan),
        measured_(measured),
        inlet_pa_(model_.reference.inlet_pressure_abs_pa),
        no_load_(knobs.no_load) {
    if (!plan.refusal.empty()) return;
    holds_ = carried_holds(survey, plan, measured, knobs);
    // The slowing rotor helps the motor: of a rise the current is corrected for it, the speed is not.
    speed_ = ratio_to_type(&Carried::speed_rev_s, &TypeTable::speed_rev_s, false);
    current_ = ratio_to_type(&Carried::current_a, &TypeTable::current_a,
                             model_.nominal.moment_of_inertia_kg_m2 > 0);
    motor_ = motor_constants(survey, measured, knobs);
    curve_ = fit();
    beside_ = beside_the_curve();
  }

  Conclusion run() const {
    Conclusion conclusion{std::nullopt,
                          std::nullopt,
                          "",
                          all_refused(std::make_index_sequence<kMetrics.size()>()),
                          {}};
    conclusion.from_free = from_free_;
    if (curve_)
      conclusion.curve = *curve_;
    else
      conclusion.curve_refusal = curve_.error().detail;
    for (std::size_t i = 0; i < kMetrics.size(); ++i) conclusion.metrics[i] = answer(kMetrics[i]);
    for (std::size_t i = 0; curve_ && i < kDrawn; ++i) {
      const double gauge = drawn_gauge_pa(i);
      if (const Outcome<double> flow = flow_at_gauge(gauge))
        conclusion.drawn[i] = Answer{*flow, !flow_reach().covers(gauge)};
    }
    return conclusion;
  }

 private:
  template <std::size_t... I>
  static std::array<Outcome<Answer>, sizeof...(I)> all_refused(std::index_sequence<I...>) {
    return {((void)I, Outcome<Answer>(refused(RefusalKind::missing_step, "not evaluated")))...};
  }

  // Gauge pressures between which the holds speak.
  struct Reach {
    double low_pa = std::numeric_limits<double>::infinity();
    double high_pa = -std::numeric_limits<double>::infinity();
    [[nodiscard]] bool covers(double gauge_pa) const {
      return gauge_pa >= low_pa - kBeside_pa && gauge_pa <= high_pa + kBeside_pa;
    }
  };

  [[nodiscard]] Reach reach(bool steady_only) const {
    Reach reach;
    for (const Carried& hold : holds_) {
      if (steady_only && !hold.steady) continue;
      reach.low_pa = std::min(reach.low_pa, hold.gauge_pa);
      reach.high_pa = std::max(reach.high_pa, hold.gauge_pa);
    }
    return reach;
  }
  [[nodiscard]] Reach flow_reach() const { return reach(true); }

  [[nodiscard]] RatioLine ratio_to_type(double Carried::*value,
                                        double (TypeTable::*nominal)(double) const,
                                        bool rising_too) const {
    std::vector<std::pair<double, double>> nodes;
    for (const Carried& hold : holds_)
      if (rising_too || !hold.rising)
        nodes.emplace_back(hold.gauge_pa, hold.*value / ((*plan_.type).*nominal)(hold.gauge_pa));
    return RatioLine(std::move(nodes));
  }

  [[nodiscard]] double ratio(double gauge_pa) const { return 1 + gauge_pa / inlet_pa_; }

  [[nodiscard]] Outcome<Curve> fit() {
    if (auto refusal = sick_for(survey_, kFlowAnswerRoles)) return *refusal;
    std::vector<CurvePoint> points;
    for (const Carried& hold : holds_) {
      if (!hold.steady) continue;
      points.push_back({std::max(1.0, ratio(hold.gauge_pa)), hold.speed_rev_s, hold.flow_m3_s,
                        hold.weight_u_m3_s, hold.shared_m3_s});
    }
    const Outcome<Curve> free =
        fit_free_curve(points, model_.nominal.polytropic_exponent, leak_prior());
    if (plan_.from_free && free) return shifted(*free, *plan_.from_free);
    Outcome<Curve> curve = fit_curve(points, model_.nominal.polytropic_exponent, leak_prior());
    if (curve && free)
      from_free_ = {curve->a_m3 - free->a_m3, curve->b_m3 - free->b_m3,
                    curve->leak_m3_s - free->leak_m3_s};
    return curve;
  }

  static Curve shifted(Curve curve, const std::array<double, 3>& by) {
    curve.a_m3 += by[0];
    curve.b_m3 += by[1];
    curve.leak_m3_s += by[2];
    return curve;
  }

  [[nodiscard]] RatioLine beside_the_curve() const {
    std::vector<std::pair<double, double>> nodes;
    for (const Carried& hold : holds_) {
      if (!curve_ || !hold.steady) continue;
      const Outcome<FlowEstimate> on =
          flow_at(*curve_, {std::max(1.0, ratio(hold.gauge_pa)), hold.speed_rev_s, true});
      if (!on || !(on->flow_m3_s > 0)) return RatioLine({});
      const double unshared = hold.flow_m3_s - shared_of(hold);
      const double form = hold.form_share * (unshared - on->flow_m3_s) - hold.beside_m3_s;
      nodes.emplace_back(hold.gauge_pa, 1 + form / on->flow_m3_s);
    }
    return RatioLine(std::move(nodes));
  }

  // What the shared causes, as the fit found them, make of the flow of this point.
  [[nodiscard]] double shared_of(const Carried& hold) const {
    return sum_over(curve_->shared.size(),
                    [&](std::size_t k) { return curve_->shared[k] * hold.shared_m3_s[k]; });
  }

  // L by the laminar law from the leak at standstill.
  [[nodiscard]] std::optional<LeakPrior> leak_prior() const {
    const double nominal = model_.nominal.leak_m3_s_pa2 * inlet_pa_ * inlet_pa_;
    if (!measured_.back_leak) return std::nullopt;
    const LeakReading& leak = *measured_.back_leak;
    const double r = leak.mean_abs_pa / leak.outside_abs_pa;
    if (!(r > 1.2)) return std::nullopt;
    const double scaled = std::max(nominal, leak.leak_m3_s / (r * r - 1));
    return LeakPrior{scaled, scaled + 1e-9};
  }

  [[nodiscard]] double speed_at(double gauge_pa) const {
    return speed_.at(gauge_pa) * plan_.type->speed_rev_s(gauge_pa);
  }
  [[nodiscard]] double current_at(double gauge_pa) const {
    return current_.at(gauge_pa) * plan_.type->current_a(gauge_pa);
  }

  [[nodiscard]] Outcome<double> flow_at_gauge(double gauge_pa) const {
    const CurveQuery query{ratio(gauge_pa), speed_at(gauge_pa), true};
    const Outcome<FlowEstimate> estimate = flow_at(*curve_, query);
    if (!estimate) return estimate.error();
    return estimate->flow_m3_s * beside_.at(gauge_pa);
  }

  [[nodiscard]] Outcome<Answer> answer(const MetricRecipe& metric) const {
    switch (metric.kind) {
      case MetricKind::back_leak:
        return leak_answer(measured_.back_leak);
      case MetricKind::seal_leak:
        return leak_answer(measured_.seal_leak);
      case MetricKind::back_leak_service:
        return service_answer(measured_.back_leak);
      case MetricKind::seal_leak_service:
        return service_answer(measured_.seal_leak);
      case MetricKind::machine_constant:
      case MetricKind::winding_resistance:
      case MetricKind::brush_drop:
      case MetricKind::moment_of_inertia:
      case MetricKind::torque:
      case MetricKind::motor_efficiency:
        return motor_answer(metric);
      case MetricKind::current:
        return current_answer(metric.gauge_pa);
      case MetricKind::speed:
        return speed_answer(metric.gauge_pa);
      case MetricKind::dead_head:
        return dead_head();
      case MetricKind::ripple_speed:
      case MetricKind::ripple_lock:
      case MetricKind::cylinder_imbalance:
      case MetricKind::commutator_irregularity:
        return ripple_answer(metric);
      default:
        return flow_answer(metric);
    }
  }

  static Outcome<Answer> leak_answer(const Outcome<LeakReading>& leak) {
    if (!leak) return leak.error();
    return Answer{leak->leak_m3_s};
  }

  static Outcome<Answer> service_answer(const Outcome<LeakReading>& leak) {
    if (!leak) return leak.error();
    if (!(leak->to_service > 0))
      return refused(RefusalKind::value_out_of_domain, "the model file names no service pressure");
    return Answer{leak->to_service * leak->leak_m3_s};
  }

  // Why nothing can be said at this pressure.
  [[nodiscard]] std::optional<Refusal> no_hold_at(double gauge_pa, const Reach& reach) const {
    if (!plan_.refusal.empty()) return refused(RefusalKind::correction_out_of_range, plan_.refusal);
    if (reach.covers(gauge_pa)) return std::nullopt;
    return refused(RefusalKind::outside_fitted_range,
                   "no usable hold reached " +
                       std::to_string(static_cast<int>(std::lround(gauge_pa / 1000))) + " kPa");
  }

  [[nodiscard]] Outcome<Answer> current_answer(double gauge_pa) const {
    if (auto refusal = sick_for(survey_, {Role::supply_current})) return *refusal;
    if (auto refusal = no_hold_at(gauge_pa, reach(false))) return *refusal;
    if (auto refusal = no_current_at(gauge_pa)) return *refusal;
    return Answer{current_at(gauge_pa)};
  }

  // At no load the ratio to the type is another one than under load: no straight line spans both.
  [[nodiscard]] std::optional<Refusal> no_current_at(double gauge_pa) const {
    double below_pa = -std::numeric_limits<double>::infinity();
    double above_pa = std::numeric_limits<double>::infinity();
    for (const Carried& hold : holds_) {
      if (!shows_current(hold)) continue;
      if (hold.gauge_pa <= gauge_pa) below_pa = std::max(below_pa, hold.gauge_pa);
      if (hold.gauge_pa >= gauge_pa) above_pa = std::min(above_pa, hold.gauge_pa);
    }
    const bool near = gauge_pa - below_pa <= kBeside_pa || above_pa - gauge_pa <= kBeside_pa;
    if (near || above_pa - below_pa <= kCurrentSpan_pa) return std::nullopt;
    return refused(RefusalKind::outside_fitted_range,
                   "no hold near " +
                       std::to_string(static_cast<int>(std::lround(gauge_pa / 1000))) +
                       " kPa shows the current");
  }

  [[nodiscard]] bool shows_current(const Carried& hold) const {
    return !hold.rising || model_.nominal.moment_of_inertia_kg_m2 > 0;
  }

  [[nodiscard]] Outcome<Answer> speed_answer(double gauge_pa) const {
    if (auto refusal = sick_for(survey_, {Role::speed})) return *refusal;
    if (auto refusal = no_hold_at(gauge_pa, reach(false))) return *refusal;
    return Answer{speed_at(gauge_pa)};
  }

  // Null: none is near enough.
  [[nodiscard]] const Carried* nearest_hold(double gauge_pa) const {
    const auto distance = [&](const Carried& hold) { return std::abs(hold.gauge_pa - gauge_pa); };
    const Carried* nearest = nullptr;
    for (const Carried& hold : holds_)
      if (!hold.rising && (nearest == nullptr || distance(hold) < distance(*nearest)))
        nearest = &hold;
    return nearest == nullptr || distance(*nearest) > kBeside_pa ? nullptr : nearest;
  }

  [[nodiscard]] Outcome<Answer> ripple_answer(const MetricRecipe& metric) const {
    if (!plan_.refusal.empty()) return refused(RefusalKind::correction_out_of_range, plan_.refusal);
    const Carried* hold = nearest_hold(metric.gauge_pa);
    if (hold == nullptr) return *no_hold_at(metric.gauge_pa, Reach{});
    const Outcome<HoldRipple>& ripple = survey_.holds[hold->hold].ripple;
    if (!ripple) return ripple.error();
    const HoldReading& reading = measured_.holds[hold->hold];
    if (metric.kind == MetricKind::ripple_lock) return Answer{reading.ripple_lock};
    const auto said = [](const Outcome<WithU>& found, double value) -> Outcome<Answer> {
      if (!found) return found.error();
      return Answer{value};
    };
    if (metric.kind == MetricKind::cylinder_imbalance)
      return said(ripple->imbalance(), reading.cylinder_imbalance);
    if (metric.kind == MetricKind::commutator_irregularity)
      return said(ripple->irregularity(), reading.commutator_irregularity);
    const double along =
        plan_.type->speed_rev_s(metric.gauge_pa) / plan_.type->speed_rev_s(hold->gauge_pa);
    return said(ripple->speed(), hold->ripple_speed_rev_s * along);
  }

  [[nodiscard]] Outcome<Answer> flow_answer(const MetricRecipe& metric) const {
    if (auto refusal = sick_for(survey_, kFlowAnswerRoles)) return *refusal;
    if (auto refusal = no_hold_at(metric.gauge_pa, flow_reach())) return *refusal;
    if (!curve_) return curve_.error();
    const Outcome<double> flow = flow_at_gauge(metric.gauge_pa);
    if (!flow) return flow.error();
    if (metric.kind == MetricKind::volumetric_efficiency)
      return Answer{*flow / (model_.nominal.swept_volume_m3 * speed_at(metric.gauge_pa))};
    if (metric.kind == MetricKind::specific_energy) return energy(metric.gauge_pa, *flow);
    if (metric.kind == MetricKind::isothermal_efficiency)
      return isothermal_efficiency(metric.gauge_pa, *flow);
    return Answer{*flow};
  }

  [[nodiscard]] Outcome<Answer> energy(double gauge_pa, double flow_m3_s) const {
    if (auto refusal = sick_among(survey_, {Role::supply_current})) return *refusal;
    if (auto refusal = no_current_at(gauge_pa)) return *refusal;
    if (!(flow_m3_s > 0))
      return refused(RefusalKind::value_out_of_domain, "the unit delivers nothing there");
    return Answer{model_.reference.supply_voltage_v * current_at(gauge_pa) / flow_m3_s};
  }

  [[nodiscard]] Outcome<Answer> isothermal_efficiency(double gauge_pa, double flow_m3_s) const {
    const Outcome<Answer> per_volume = energy(gauge_pa, flow_m3_s);
    if (!per_volume) return per_volume;
    return Answer{inlet_pa_ * std::log(ratio(gauge_pa)) / per_volume->value};
  }

  [[nodiscard]] Outcome<Answer> motor_answer(const MetricRecipe& metric) const {
    if (!plan_.refusal.empty()) return refused(RefusalKind::correction_out_of_range, plan_.refusal);
    if (!motor_) return motor_.error();
    if (metric.kind == MetricKind::machine_constant) return Answer{motor_->machine_constant_v_s};
    if (metric.kind == MetricKind::moment_of_inertia)
      return Answer{motor_->moment_of_inertia_kg_m2};
    if (metric.kind == MetricKind::torque || metric.kind == MetricKind::motor_efficiency)
      return driven_answer(metric);
    if (!motor_->winding) return motor_->winding.error();
    return Answer{metric.kind == MetricKind::brush_drop ? motor_->winding->brush_drop_v
                                                        : motor_->winding->winding_resistance_ohm};
  }

  [[nodiscard]] Outcome<Answer> driven_answer(const MetricRecipe& metric) const {
    const double k = motor_->constant_at(model_.reference.warm_case_temperature_k);
    const bool torque = metric.kind == MetricKind::torque;
    const Outcome<Answer> at =
        torque ? current_answer(metric.gauge_pa) : speed_answer(metric.gauge_pa);
    if (!at) return at;
    if (torque) return Answer{k * no_load_ * std::abs(at->value)};
    return Answer{2 * std::numbers::pi * k * at->value / model_.reference.supply_voltage_v};
  }

  // Where the curve reaches zero; the flow falls with pressure, so bisection finds it.
  [[nodiscard]] Outcome<Answer> dead_head() const {
    if (!plan_.refusal.empty()) return refused(RefusalKind::correction_out_of_range, plan_.refusal);
    if (!curve_) return curve_.error();
    const auto delivers = [&](double gauge_pa) {
      const Outcome<double> flow = flow_at_gauge(gauge_pa);
      return flow.has_value() && *flow > 0;
    };
    if (!delivers(0))
      return refused(RefusalKind::value_out_of_domain, "the unit delivers nothing at all");
    if (delivers(kDeadHeadSearch_pa))
      return refused(RefusalKind::outside_fitted_range, "the curve does not reach zero");
    double low = 0;
    double high = kDeadHeadSearch_pa;
    for (int i = 0; i < kBisections; ++i) {
      const double middle = (low + high) / 2;
      (delivers(middle) ? low : high) = middle;
    }
    return Answer{(low + high) / 2, !flow_reach().covers(low)};
  }

  const Survey& survey_;
  const ModelFacts& model_;
  const Plan& plan_;
  const Measured& measured_;
  const double inlet_pa_;
  const double no_load_;
  std::vector<Carried> holds_;
  RatioLine speed_{{}};
  RatioLine current_{{}};
  RatioLine beside_{{}};
  std::optional<std::array<double, 3>> from_free_;
  Outcome<MotorConstants> motor_ = refused(RefusalKind::missing_step, "no hold was completed");
  Outcome<Curve> curve_ = refused(RefusalKind::missing_step, "no hold gave an operating point");
};

// Steady holds, or those whose flow does not matter, must be near enough to be corrected.
std::string too_far(const Survey& survey, const Plan& plan, const Measured& measured) {
  const Knobs at_rest(survey.context->bench.receivers.size());
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    if (!survey.holds[i].window) continue;
    const PointState& state = measured.holds[i].state;
    const Carry carry = carry_of(survey.context->model, plan.sensitivities[i], state, at_rest);
    const std::string why = beyond_correction(survey.context->model, state, carry);
    if (!why.empty()) return "at " + survey.holds[i].step->id + " the " + why;
  }
  return "";
}

bool any_hold(const Survey& survey) {
  return std::any_of(survey.holds.begin(), survey.holds.end(),
                     [](const HoldWindow& hold) { return hold.window.has_value(); });
}

}  // namespace

double drawn_gauge_pa(std::size_t index) {
  return kDrawnTo_pa * static_cast<double>(index) / static_cast<double>(kDrawn - 1);
}

Plan plan_of(const Survey& survey, const Measured& measured) {
  Plan plan;
  plan.sensitivities.resize(survey.holds.size());
  plan.weight_u_m3_s.assign(survey.holds.size(), 1);
  plan.form_share.assign(survey.holds.size(), 0);
  plan.shared_m3_s.resize(survey.holds.size());
  if (const auto refusal = sick_among(survey, kCarryRoles)) {
    plan.refusal = refusal->detail;
    return plan;
  }
  if (!any_hold(survey)) {
    plan.refusal = "no hold was completed";
    return plan;
  }
  const Outcome<TypeTable> type = TypeTable::make(survey.context->model);
  if (!type) {
    plan.refusal = type.error().detail;
    return plan;
  }
  plan.type = *type;
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    if (!survey.holds[i].window) continue;
    const Outcome<Sensitivities> found = sensitivities_at(
        survey.context->model.nominal, survey.context->model.reference, measured.holds[i].state);
    if (!found) {
      plan.refusal = found.error().detail;
      return plan;
    }
    plan.sensitivities[i] = *found;
  }
  plan.refusal = too_far(survey, plan, measured);
  return plan;
}

Conclusion conclude(const Survey& survey, const Plan& plan, const Measured& measured,
                    const Knobs& knobs) {
  return Concluder(survey, plan, measured, knobs).run();
}

}  // namespace endgate::analysis
