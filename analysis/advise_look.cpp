#include "analysis/advise_look.h"

#include <algorithm>
#include <cmath>

#include "analysis/conclusion.h"
#include "analysis/flow_state.h"
#include "analysis/gas_of_blocks.h"
#include "analysis/steady_window.h"
#include "analysis/survey.h"

namespace endgate::analysis {
namespace {

constexpr double kLeastCorrelations = 4;

}  // namespace

bool HoldLook::take() {
  for (const RoleFacts& role : kRoles) take_moments(role.role);
  for (const Role role : kNeededForLook)
    if (!moments_[index_of(role)]) return false;
  window_ = {sums_.dwell[index_of(Role::flow)].start_s(), sums_.now_s};
  return take_state() && take_gas();
}

const Moments& HoldLook::of(Role role) const { return *moments_[index_of(role)]; }

const ChannelFacts& HoldLook::facts(Role role) const {
  return *facts_of_role(context_.bench, role);
}

bool HoldLook::long_enough() const {
  const double least = std::max({context_.model.steady.min_window_s,
                                 kLeastCorrelations * facts(Role::flow).noise_correlation_s,
                                 kLeastTurns / std::max(1.0, of(Role::speed).mean)});
  return window_.length_s() >= least;
}

bool HoldLook::steady() const { return drift_of(inflow_, window_, context_.model.steady).steady(); }

Seen HoldLook::seen() const {
  const ThermalCorrection& thermal = context_.model.thermal;
  return {flow(), plain(Role::speed, carry_.speed, thermal.speed_per_case_k),
          plain(Role::supply_current, carry_.current, thermal.current_per_case_k)};
}

void HoldLook::take_moments(Role role) {
  const ChannelFacts* facts = facts_of_role(context_.bench, role);
  if (facts == nullptr) return;
  const SampleNoise noise{facts->noise_sigma_si, facts->noise_correlation_s,
                          sums_.resolution_si[index_of(role)]};
  moments_[index_of(role)] = sums_.dwell[index_of(role)].moments(sums_.now_s, noise, facts->lag_s);
  if (moments_[index_of(role)]) moments_[index_of(role)]->mean -= sums_.zero_si[index_of(role)];
}

bool HoldLook::take_state() {
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

double HoldLook::rise_k(double room_k, double gauge_pa) const {
  return compression_rise_k(room_k, 1 + gauge_pa / inlet_.pressure_abs_pa,
                            context_.model.nominal.polytropic_exponent);
}

GasSettings HoldLook::gas_settings() const {
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
bool HoldLook::take_gas() {
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

void HoldLook::add_storage(const GasSettings& settings) {
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
double HoldLook::u_storage_rel() const {
  const std::uint8_t index = receiver_of(sums_, context_.bench);
  if (index == kNoReceiver) return 0;
  const Receiver& receiver = context_.bench.receivers[index];
  const MoistMass metered =
      mass_read_as(StandardFlow(of(Role::flow).mean), meter_reference(context_.bench));
  const double share = std::abs(in_kg_s_ - metered.si()) / in_kg_s_;
  return share * std::hypot(receiver.u_conductance_rel, receiver.u_volume_rel);
}

double HoldLook::u_calibration_rel(Role role) const {
  const ChannelCalibration& calibration = facts(role).calibration;
  const double offset = role == Role::supply_current ? 0 : calibration.u_offset_si;  // zeroed
  return std::hypot(calibration.u_gain_rel, offset / std::max(1e-12, std::abs(of(role).mean)));
}

// A quantity that one channel reads.
Standpoint HoldLook::plain(Role role, double carry, double per_case_k) const {
  const ReferenceConditions& reference = context_.model.reference;
  const double cold = state_.case_temperature_k - reference.warm_case_temperature_k;
  const double warm = context_.model.thermal.u_rel_of_correction * per_case_k * cold;
  const double value = carry * of(role).mean;
  return {value, std::abs(carry) * of(role).u_mean,
          std::abs(value) * std::hypot(u_calibration_rel(role), warm)};
}

Standpoint HoldLook::flow() const {
  const DryMass dry = without_vapour(MoistMass(in_kg_s_), humidity_ratio(inlet_));
  const double value = carry_.flow * free_air(dry, inlet_).si();
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

}  // namespace endgate::analysis
