#include "analysis/measured.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/flow_state.h"
#include "analysis/leak_test.h"
#include "analysis/moist_air.h"
#include "analysis/motor_constants.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

double level(const HoldWindow& hold, const Knobs& knobs, Role role) {
  return knobs.reading(role, hold.moments[index_of(role)].mean);
}

double slope(const HoldWindow& hold, const Knobs& knobs, Role role) {
  return knobs.gain[index_of(role)] * hold.moments[index_of(role)].slope_s;
}

PointState state_of(const HoldWindow& hold, const Knobs& knobs) {
  PointState state;
  state.supply_voltage_v = level(hold, knobs, Role::supply_voltage);
  state.discharge_gauge_pa = level(hold, knobs, Role::discharge_pressure);
  state.inlet_pressure_abs_pa = level(hold, knobs, Role::barometric_pressure);
  state.inlet_temperature_k = level(hold, knobs, Role::ambient_temperature);
  state.head_temperature_k = level(hold, knobs, Role::head_temperature);
  state.case_temperature_k = level(hold, knobs, Role::case_temperature);
  state.winding_lead_k = knobs.winding_lead * hold.winding_lead_k;
  return state;
}

double over_grid(const HoldWindow& hold, const std::vector<double>& values) {
  return sum_over(hold.grid_weights.size(), [&](std::size_t i) {
    return hold.grid_weights[i] * values[hold.grid.first + i];
  });
}

double inlet_gas_k(const Survey& survey, const PointState& state, const GasSettings& settings) {
  const double room = state.inlet_temperature_k;
  const double rise =
      compression_rise_k(room, 1 + state.discharge_gauge_pa / state.inlet_pressure_abs_pa,
                         survey.context->model.nominal.polytropic_exponent);
  return room + settings.inlet_head_share * (state.head_temperature_k - room) +
         settings.inlet_discharge_share * rise;
}

// Moist mass that the unit delivers, with the vapour that condenses in the receiver.
MoistMass inflow_of(const Survey& survey, const HoldWindow& hold, const PointState& state,
                    const GasHistory& history, const Knobs& knobs) {
  const GasSettings settings = gas_settings(survey, knobs);
  double inflow = over_grid(hold, history.inflow_kg_s);
  if (!hold.outlet_shut)
    inflow += settings.meter_lag_s * meter_density_kg_m3(survey.context->bench) *
              slope(hold, knobs, Role::flow);
  const bool has_receiver = hold.receiver < settings.receivers.size();
  const double inlet = inlet_gas_k(survey, state, settings);
  if (has_receiver && inlet > 0)
    inflow += storage_kg_pa(settings.receivers[hold.receiver],
                            mixture_gas_constant(settings.inlet_humidity_ratio), inlet) *
              slope(hold, knobs, Role::discharge_pressure);
  return MoistMass(inflow);
}

MoistMass metered(const Survey& survey, const HoldWindow& hold, const Knobs& knobs) {
  if (hold.outlet_shut) return MoistMass(0);
  return mass_read_as(StandardFlow(level(hold, knobs, Role::flow)),
                      meter_reference(survey.context->bench));
}

void add_flow(const Survey& survey, const HoldWindow& hold, const GasHistory& history,
              const Knobs& knobs, HoldReading& reading) {
  const PointState& state = reading.state;
  const MoistMass inflow = inflow_of(survey, hold, state, history, knobs);
  const AirState inlet{state.inlet_pressure_abs_pa, state.inlet_temperature_k,
                       reading.relative_humidity};
  const auto delivered = [&, ratio = humidity_ratio(inlet)](MoistMass mass) {
    return free_air(without_vapour(mass, ratio), inlet);
  };
  reading.flow_inlet_m3_s = delivered(inflow).si();
  reading.storage_m3_s = delivered(inflow - metered(survey, hold, knobs)).si();
}

WithU or_zero(const Outcome<WithU>& found) { return found ? *found : WithU{}; }

void add_ripple(const Survey& survey, const HoldWindow& hold, const Knobs& knobs,
                HoldReading& reading) {
  if (!hold.ripple) return;
  reading.ripple_lock = hold.ripple->lock_probability;
  reading.ripple_speed_rev_s = knobs.waveform_clock * hold.ripple->speed_rev_s.value;
  reading.cylinder_imbalance = or_zero(hold.ripple->imbalance()).value;
  reading.commutator_irregularity = or_zero(hold.ripple->irregularity()).value;
  if (survey.speed_from_ripple) reading.speed_rev_s = reading.ripple_speed_rev_s;
}

void add_ripple_noise(const Survey& survey, const HoldWindow& hold, HoldNoise& noise) {
  if (!hold.ripple) return;
  noise.ripple_speed_rev_s = hold.ripple->speed_rev_s.u;
  noise.cylinder_imbalance = or_zero(hold.ripple->imbalance()).u;
  noise.commutator_irregularity = or_zero(hold.ripple->irregularity()).u;
  if (survey.speed_from_ripple) noise.speed_rev_s = noise.ripple_speed_rev_s;
}

// While the pressure rises the rotor slows down and drives the unit with what it turned with.
double given_back_a(const Survey& survey, const HoldWindow& hold, const Knobs& knobs) {
  const NominalPhysics& nominal = survey.context->model.nominal;
  if (!hold.rising || !(nominal.machine_constant_v_s > 0)) return 0;
  const double slowing_rad_s2 = -2 * std::numbers::pi * slope(hold, knobs, Role::speed);
  return knobs.inertia * nominal.moment_of_inertia_kg_m2 * slowing_rad_s2 /
         nominal.machine_constant_v_s;
}

HoldReading read(const Survey& survey, const HoldWindow& hold, const GasHistory& history,
                 const Knobs& knobs) {
  HoldReading reading;
  if (!hold.window) return reading;
  reading.state = state_of(hold, knobs);
  reading.relative_humidity = level(hold, knobs, Role::relative_humidity);
  reading.speed_rev_s = level(hold, knobs, Role::speed);
  reading.supply_current_a =
      level(hold, knobs, Role::supply_current) + given_back_a(survey, hold, knobs);
  add_ripple(survey, hold, knobs, reading);
  if (hold.grid.count() >= 3) add_flow(survey, hold, history, knobs, reading);
  return reading;
}

}  // namespace

Measured measure(const Survey& survey, const Knobs& knobs, const GasHistory& history) {
  std::vector<HoldReading> holds;
  holds.reserve(survey.holds.size());
  for (const HoldWindow& hold : survey.holds) holds.push_back(read(survey, hold, history, knobs));
  Outcome<RunDown> run_down = measure_run_down(survey, knobs);
  return {std::move(holds), measure_back_leak(survey, history, knobs),
          measure_seal_leak(survey, knobs), std::move(run_down)};
}

HoldNoise noise_of(const Survey& survey, const HoldWindow& hold, const HoldReading& reading) {
  const auto u = [&](Role role) { return hold.moments[index_of(role)].u_mean; };
  HoldNoise noise{u(Role::discharge_pressure), 0, u(Role::speed), u(Role::supply_current),
                  u(Role::supply_voltage)};
  add_ripple_noise(survey, hold, noise);
  const BenchFacts& bench = survey.context->bench;
  double mass = hold.outlet_shut ? 0 : meter_density_kg_m3(bench) * u(Role::flow);
  const Knobs at_rest(bench.receivers.size());
  const GasSettings settings = gas_settings(survey, at_rest);
  const double inlet = inlet_gas_k(survey, reading.state, settings);
  if (hold.receiver < settings.receivers.size() && inlet > 0)
    mass =
        std::hypot(mass, storage_kg_pa(settings.receivers[hold.receiver],
                                       mixture_gas_constant(settings.inlet_humidity_ratio), inlet) *
                             hold.moments[index_of(Role::discharge_pressure)].u_slope_s);
  const PointState& state = reading.state;
  // Vapour or not is nothing to an uncertainty.
  noise.flow_m3_s = free_air(DryMass(mass), {state.inlet_pressure_abs_pa, state.inlet_temperature_k,
                                             reading.relative_humidity})
                        .si();
  return noise;
}

}  // namespace endgate::analysis
