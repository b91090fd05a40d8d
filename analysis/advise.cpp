#include "analysis/advise.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analysis/advise_leak.h"
#include "analysis/conclusion.h"
#include "analysis/gas_of_blocks.h"
#include "analysis/moist_air.h"
#include "analysis/receiver_gas.h"
#include "analysis/reference_conditions.h"
#include "analysis/steady_window.h"
#include "analysis/survey.h"

namespace endgate::analysis {
namespace {

constexpr double kLeastCorrelations = 4;
constexpr double kSameTarget_pa = 500;

// What every look needs; a look without one of them has nothing to say.
constexpr std::array kNeeded = {Role::discharge_pressure,
                                Role::flow,
                                Role::supply_voltage,
                                Role::supply_current,
                                Role::speed,
                                Role::barometric_pressure,
                                Role::ambient_temperature,
                                Role::head_temperature,
                                Role::case_temperature};

// One look: levels and slopes of the channels, and the gas in the receiver.
class Look {
 public:
  Look(const StepSums& sums, const Context& context) : sums_(sums), context_(context) {}

  // False: something is missing.
  [[nodiscard]] bool take() {
    for (const RoleFacts& role : kRoles) take_moments(role.role);
    for (const Role role : kNeeded)
      if (!moments_[index_of(role)]) return false;
    window_ = {sums_.dwell[index_of(Role::flow)].start_s(), sums_.now_s};
    return take_state() && take_gas();
  }

  [[nodiscard]] const Window& window() const { return window_; }
  [[nodiscard]] const Moments& of(Role role) const { return *moments_[index_of(role)]; }
  [[nodiscard]] const ChannelFacts& facts(Role role) const {
    return *facts_of_role(context_.bench, role);
  }
  [[nodiscard]] bool long_enough() const {
    const double least = std::max({context_.model.steady.min_window_s,
                                   kLeastCorrelations * facts(Role::flow).noise_correlation_s,
                                   kLeastTurns / std::max(1.0, of(Role::speed).mean)});
    return window_.length_s() >= least;
  }
  [[nodiscard]] bool steady() const {
    return drift_of(inflow_, window_, context_.model.steady).steady();
  }
  [[nodiscard]] Standpoint flow() const;
  [[nodiscard]] Standpoint speed() const {
    return plain(Role::speed, carry_.speed, context_.model.thermal.speed_per_case_k);
  }
  [[nodiscard]] Standpoint current() const {
    return plain(Role::supply_current, carry_.current, context_.model.thermal.current_per_case_k);
  }

 private:
  void take_moments(Role role) {
    const ChannelFacts* facts = facts_of_role(context_.bench, role);
    if (facts == nullptr) return;
    const SampleNoise noise{facts->noise_sigma_si, facts->noise_correlation_s,
                            sums_.resolution_si[index_of(role)]};
    moments_[index_of(role)] =
        sums_.dwell[index_of(role)].moments(sums_.now_s, noise, facts->lag_s);
    if (moments_[index_of(role)]) moments_[index_of(role)]->mean -= sums_.zero_si[index_of(role)];
  }

  [[nodiscard]] bool take_state() {
    state_ = {.supply_voltage_v = of(Role::supply_voltage).mean,
              .discharge_gauge_pa = of(Role::discharge_pressure).mean,
              .inlet_pressure_abs_pa = of(Role::barometric_pressure).mean,
              .inlet_temperature_k = of(Role::ambient_temperature).mean,
              .head_temperature_k = of(Role::head_temperature).mean,
              .case_temperature_k = of(Role::case_temperature).mean,
              // The past of the current is not in the sums: as in the warm state.
              .winding_lead_k = warm_winding_lead_k(context_.model.reference)};
    const auto& humidity = moments_[index_of(Role::relative_humidity)];
    inlet_ = {state_.inlet_pressure_abs_pa, state_.inlet_temperature_k,
              humidity ? humidity->mean : 0};
    const Outcome<Sensitivities> found =
        sensitivities_at(context_.model.nominal, context_.model.reference, state_);
    if (!found) return false;
    sensitivities_ = *found;
    carry_ = carry_of(context_.model, *found, state_, Knobs(context_.bench.receivers.size()));
    return beyond_correction(context_.model, state_, carry_).empty();
  }

  [[nodiscard]] double rise_k(double room_k, double gauge_pa) const {
    return compression_rise_k(room_k, 1 + gauge_pa / inlet_.pressure_abs_pa,
                              context_.model.nominal.polytropic_exponent);
  }

  [[nodiscard]] GasSettings gas_settings() const {
    GasSettings settings;
    settings.receivers = context_.bench.receivers;
    settings.inlet_pressure_abs_pa = inlet_.pressure_abs_pa;
    settings.inlet_humidity_ratio = humidity_ratio(inlet_);
    settings.inlet_head_share = context_.model.thermal.inlet_gas_head_share;
    settings.inlet_discharge_share = context_.model.thermal.inlet_gas_discharge_share;
    settings.meter_lag_s = facts(Role::flow).lag_s;
    return settings;
  }

  // As analysis/measured.cpp does it, on block means.
  [[nodiscard]] bool take_gas() {
    const GasReadings readings = gas_of_blocks(sums_, context_, inlet_.pressure_abs_pa);
    const GasSettings settings = gas_settings();
    GasHistory history;
    follow_gas(readings, settings, history);
    const auto z = moments_in({readings.time_s, history.inflow_kg_s}, window_, {}, 0);
    if (!z || z->count < 3) return false;
    const double density = meter_density_kg_m3(context_.bench);
    inflow_ = *z;
    inflow_.u_slope_s = density * of(Role::flow).u_slope_s;
    in_kg_s_ = z->mean + settings.meter_lag_s * density * of(Role::flow).slope_s;
    u_in_kg_s_ = density * of(Role::flow).u_mean;
    add_storage(settings);
    return in_kg_s_ > 0;
  }

  void add_storage(const GasSettings& settings) {
    const std::uint8_t receiver = receiver_of(sums_, context_.bench);
    if (receiver == kNoReceiver) return;
    const double room = state_.inlet_temperature_k;
    const double inlet = room + settings.inlet_head_share * (state_.head_temperature_k - room) +
                         settings.inlet_discharge_share * rise_k(room, state_.discharge_gauge_pa);
    const double per_pa = storage_kg_pa(settings.receivers[receiver],
                                        mixture_gas_constant(settings.inlet_humidity_ratio), inlet);
    in_kg_s_ += per_pa * of(Role::discharge_pressure).slope_s;
    u_in_kg_s_ = std::hypot(u_in_kg_s_, per_pa * of(Role::discharge_pressure).u_slope_s);
  }

  // Of the storage of gas: what the receiver's constants leave open.
  [[nodiscard]] double u_storage_rel() const {
    const std::uint8_t index = receiver_of(sums_, context_.bench);
    if (index == kNoReceiver) return 0;
    const Receiver& receiver = context_.bench.receivers[index];
    const double metered = meter_density_kg_m3(context_.bench) * of(Role::flow).mean;
    const double share = std::abs(in_kg_s_ - metered) / in_kg_s_;
    return share * std::hypot(receiver.u_conductance_rel, receiver.u_volume_rel);
  }

  [[nodiscard]] double u_calibration_rel(Role role) const {
    const ChannelCalibration& calibration = facts(role).calibration;
    const double offset = role == Role::supply_current ? 0 : calibration.u_offset_si;  // zeroed
    return std::hypot(calibration.u_gain_rel, offset / std::max(1e-12, std::abs(of(role).mean)));
  }

  // A quantity that one channel reads.
  [[nodiscard]] Standpoint plain(Role role, double carry, double per_case_k) const {
    const ReferenceConditions& reference = context_.model.reference;
    const double cold = state_.case_temperature_k - reference.warm_case_temperature_k;
    const double warm = context_.model.thermal.u_rel_of_correction * per_case_k * cold;
    const double value = carry * of(role).mean;
    return {value, std::abs(carry) * of(role).u_mean,
            std::abs(value) * std::hypot(u_calibration_rel(role), warm)};
  }

  const StepSums& sums_;
  const Context& context_;
  std::array<std::optional<Moments>, kRoleCount> moments_{};
  Window window_;
  PointState state_;
  AirState inlet_;
  Sensitivities sensitivities_;
  Carry carry_;
  Moments inflow_;
  double in_kg_s_ = 0;
  double u_in_kg_s_ = 0;
};

Standpoint Look::flow() const {
  const double dry_kg_s = in_kg_s_ / (1 + humidity_ratio(inlet_));
  const double value = carry_.flow * free_air_m3_s(dry_kg_s, inlet_);
  const ThermalCorrection& thermal = context_.model.thermal;
  const ReferenceConditions& reference = context_.model.reference;
  const double warm = std::hypot(
      flow_per_head_k(thermal, state_) *
          (state_.head_temperature_k - reference.warm_head_temperature_k),
      thermal.flow_per_case_k * (state_.case_temperature_k - reference.warm_case_temperature_k));
  const double rel =
      std::hypot(u_calibration_rel(Role::flow), kFormRel,
                 std::hypot(u_storage_rel(), thermal.u_rel_of_correction * warm,
                            sensitivities_.flow.voltage * u_calibration_rel(Role::supply_voltage)));
  return {value, std::abs(value) * u_in_kg_s_ / in_kg_s_, std::abs(value) * rel};
}

// The product of powers of independent quantities, relative uncertainties in quadrature.
Standpoint ratio(double value, std::initializer_list<Standpoint> factors) {
  double random = 0, systematic = 0;
  for (const Standpoint& factor : factors) {
    random = std::hypot(random, factor.u_random / factor.value);
    systematic = std::hypot(systematic, factor.u_systematic / factor.value);
  }
  return {value, std::abs(value) * random, std::abs(value) * systematic};
}

std::optional<Standpoint> standpoint(MetricKind kind, const Look& look, const ModelFacts& model) {
  const Standpoint flow = look.flow();
  const Standpoint speed = look.speed();
  const Standpoint current = look.current();
  switch (kind) {
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
    default:
      return std::nullopt;
  }
}

bool is_at(const MetricRecipe& metric, double gauge_pa) {
  return std::abs(metric.gauge_pa - gauge_pa) < kSameTarget_pa;
}

std::vector<Certainty> certainties(const StepSums& sums, const Context& context, const Look& look) {
  std::vector<Certainty> found;
  for (const Limit& limit : context.limits.limits)
    for (const MetricRecipe& metric : kMetrics) {
      if (metric.id != limit.metric || !is_at(metric, sums.target_gauge_pa)) continue;
      if (const auto point = standpoint(metric.kind, look, context.model))
        found.push_back(certainty_of(*point, limit));
    }
  return found;
}

bool is_on_target(const Standpoint& point) {
  return point.u_random <= kTargetShare * point.u_systematic;
}

AdviceKind kind_of(const StepSums& sums, const Context& context) {
  if (is_leak(sums.kind)) return advise_leak(sums, context);
  Look look(sums, context);
  if (!look.take() || !look.long_enough() || !look.steady()) return AdviceKind::keep_on;
  const std::vector<Certainty> found = certainties(sums, context, look);
  const bool any_open = std::ranges::count(found, Certainty::open) > 0;
  const bool any_never = std::ranges::count(found, Certainty::never) > 0;
  if (!found.empty() && !any_open)
    return any_never ? AdviceKind::cannot_decide : AdviceKind::decided;
  const bool met =
      is_on_target(look.flow()) && is_on_target(look.speed()) && is_on_target(look.current());
  return met ? AdviceKind::target_met : AdviceKind::keep_on;
}

// One bound, seen so that inside is above it.
Certainty at_bound(double above, const Standpoint& point, const Limit& limit) {
  const bool guarded = limit.guard == GuardRule::factor;
  const double pass = guarded ? limit.pass_factor : 0;
  const double fail = guarded ? limit.fail_factor : 0;
  const double u = std::hypot(point.u_random, point.u_systematic);
  const double slack = kSafety * point.u_random;
  if (above - pass * u > slack || -above - fail * u > slack) return Certainty::certain;
  const double us = point.u_systematic;
  return above > slack - fail * us && above < pass * us - slack ? Certainty::never
                                                                : Certainty::open;
}

bool is_beyond(double above, const Standpoint& point, const Limit& limit) {
  return above < 0 && at_bound(above, point, limit) == Certainty::certain;
}

}  // namespace

Certainty certainty_of(const Standpoint& point, const Limit& limit) {
  std::vector<double> above;
  if (limit.lower) above.push_back(point.value - *limit.lower);
  if (limit.upper) above.push_back(*limit.upper - point.value);
  Certainty worst = Certainty::certain;
  for (const double each : above) {
    if (is_beyond(each, point, limit)) return Certainty::certain;
    const Certainty here = at_bound(each, point, limit);
    if (here == Certainty::open || worst == Certainty::certain) worst = here;
  }
  return worst;
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

Advice advise(const StepSums& sums, const Context& context) {
  return {sums.step_id, kind_of(sums, context), sums.now_s};
}

}  // namespace endgate::analysis
