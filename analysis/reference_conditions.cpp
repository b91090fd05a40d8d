#include "analysis/reference_conditions.h"

#include <cmath>
#include <cstdio>

#include "analysis/type_model.h"

namespace endgate::analysis {
namespace {

constexpr double kMaxInletPressureRel = 0.08;
constexpr double kMaxInletTemperature_k = 15;
constexpr double kMaxSpeedRel = 0.12;
constexpr double kMaxFromWarm_k = 60;
constexpr double kHalfStep = 0.01;  // of the central differences, in the logarithm

// d ln of each answer when the query goes from `low` to `high`, kHalfStep to either side.
struct LogSlopes {
  double speed = 0;
  double current = 0;
  double flow = 0;
};

double log_slope(double low, double high) {
  return low > 0 && high > 0 ? std::log(high / low) / (2 * kHalfStep) : 0;
}

Outcome<LogSlopes> slopes_between(const NominalPhysics& nominal, const TypeQuery& low,
                                  const TypeQuery& high) {
  const Outcome<TypeState> before = solve_type_model(nominal, low);
  if (!before) return before.error();
  const Outcome<TypeState> after = solve_type_model(nominal, high);
  if (!after) return after.error();
  return LogSlopes{log_slope(before->speed_rev_s, after->speed_rev_s),
                   log_slope(before->supply_current_a, after->supply_current_a),
                   log_slope(before->flow_inlet_m3_s, after->flow_inlet_m3_s)};
}

TypeQuery half_way(const ReferenceConditions& reference, const PointState& state) {
  return {std::sqrt(reference.supply_voltage_v * state.supply_voltage_v), state.discharge_gauge_pa,
          std::sqrt(reference.inlet_pressure_abs_pa * state.inlet_pressure_abs_pa)};
}

// Relative change that a temperature above the warm state makes.
double thermal(double per_k, double factor, double temperature_k, double warm_k) {
  return per_k == 0 ? 0 : factor * per_k * (temperature_k - warm_k);
}

double stepped(const Sensitivity& sensitivity, double log_voltage, double log_barometer) {
  return std::exp(sensitivity.voltage * log_voltage + sensitivity.barometer * log_barometer);
}

std::string too_far(const char* format, double value, double limit) {
  char buffer[160];
  std::snprintf(buffer, sizeof buffer, format, value, limit);
  return buffer;
}

std::string too_warm(const ModelFacts& model, const PointState& state) {
  const double head = state.head_temperature_k - model.reference.warm_head_temperature_k;
  const double body = state.case_temperature_k - model.reference.warm_case_temperature_k;
  const ThermalCorrection& t = model.thermal;
  if (t.flow_per_head_k != 0 && !(std::abs(head) <= kMaxFromWarm_k))
    return too_far("head is %.0f K from the warm state, at most %.0f K can be corrected", head,
                   kMaxFromWarm_k);
  const bool uses_case =
      t.flow_per_case_k != 0 || t.speed_per_case_k != 0 || t.current_per_case_k != 0;
  if (uses_case && !(std::abs(body) <= kMaxFromWarm_k))
    return too_far("case is %.0f K from the warm state, at most %.0f K can be corrected", body,
                   kMaxFromWarm_k);
  return "";
}

}  // namespace

Outcome<Sensitivities> sensitivities_at(const NominalPhysics& nominal,
                                        const ReferenceConditions& reference,
                                        const PointState& state) {
  const TypeQuery middle = half_way(reference, state);
  TypeQuery low = middle;
  TypeQuery high = middle;
  low.supply_voltage_v *= std::exp(-kHalfStep);
  high.supply_voltage_v *= std::exp(kHalfStep);
  const Outcome<LogSlopes> voltage = slopes_between(nominal, low, high);
  if (!voltage) return voltage.error();
  low = high = middle;
  low.inlet_pressure_abs_pa *= std::exp(-kHalfStep);
  high.inlet_pressure_abs_pa *= std::exp(kHalfStep);
  const Outcome<LogSlopes> barometer = slopes_between(nominal, low, high);
  if (!barometer) return barometer.error();
  return Sensitivities{{voltage->speed, barometer->speed},
                       {voltage->current, barometer->current},
                       {voltage->flow, barometer->flow}};
}

Carry carry_of(const ModelFacts& model, const Sensitivities& sensitivities, const PointState& state,
               const Knobs& knobs) {
  const ReferenceConditions& reference = model.reference;
  const ThermalCorrection& t = model.thermal;
  const double log_voltage =
      knobs.voltage_step * std::log(reference.supply_voltage_v / state.supply_voltage_v);
  const double log_barometer = knobs.barometer_step * std::log(reference.inlet_pressure_abs_pa /
                                                               state.inlet_pressure_abs_pa);
  const auto per_case = [&](double per_k, double factor) {
    return thermal(per_k, factor, state.case_temperature_k, reference.warm_case_temperature_k);
  };
  const double flow = thermal(t.flow_per_head_k, knobs.flow_per_head,
                              state.head_temperature_k - state.inlet_temperature_k,
                              reference.warm_head_temperature_k - reference.inlet_temperature_k) +
                      per_case(t.flow_per_case_k, knobs.flow_per_case);
  const auto whole = [&](const Sensitivity& sensitivity, double warm) {
    return stepped(sensitivity, log_voltage, log_barometer) / (1 + warm);
  };
  return Carry{whole(sensitivities.speed, per_case(t.speed_per_case_k, knobs.speed_per_case)),
               whole(sensitivities.current, per_case(t.current_per_case_k, knobs.current_per_case)),
               whole(sensitivities.flow, flow)};
}

std::string beyond_correction(const ModelFacts& model, const PointState& state,
                              const Carry& carry) {
  const ReferenceConditions& reference = model.reference;
  const double pressure = state.inlet_pressure_abs_pa / reference.inlet_pressure_abs_pa - 1;
  if (!(std::abs(pressure) <= kMaxInletPressureRel))
    return too_far("inlet pressure is %+.1f %% off the reference, at most %.0f %% can be corrected",
                   100 * pressure, 100 * kMaxInletPressureRel);
  const double temperature = state.inlet_temperature_k - reference.inlet_temperature_k;
  if (!(std::abs(temperature) <= kMaxInletTemperature_k))
    return too_far("inlet is %+.1f K off the reference, at most %.0f K can be corrected",
                   temperature, kMaxInletTemperature_k);
  if (!(std::abs(1 / carry.speed - 1) <= kMaxSpeedRel))
    return too_far("speed is %+.1f %% off the reference, at most %.0f %% can be corrected",
                   100 * (1 / carry.speed - 1), 100 * kMaxSpeedRel);
  return too_warm(model, state);
}

}  // namespace endgate::analysis
