#include "analysis/reference_conditions.h"

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numbers>

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

// rho of (2).
double copper_share(const NominalPhysics& nominal, const TypeState& at) {
  return nominal.winding_resistance_ohm * at.supply_current_a /
         (nominal.machine_constant_v_s * 2 * std::numbers::pi * at.speed_rev_s);
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

// (1) and (2) for one point.
class Carrier {
 public:
  Carrier(const ModelFacts& model, const Sensitivities& sensitivities, const PointState& state,
          const Knobs& knobs)
      : reference_(model.reference),
        t_(model.thermal),
        s_(sensitivities),
        state_(state),
        knobs_(knobs),
        log_voltage_(knobs.voltage_step *
                     std::log(reference_.supply_voltage_v / state.supply_voltage_v)),
        log_barometer_(knobs.barometer_step *
                       std::log(reference_.inlet_pressure_abs_pa / state.inlet_pressure_abs_pa)) {}

  [[nodiscard]] Carry carry() const {
    const double speed = whole(s_.speed, warm_speed());
    return {
        speed, whole(s_.current, warm_current()) * beyond_type(speed),
        t_.flow_per_speed > 0 ? flow_by_speed(speed) : whole(s_.flow, warm_head() + warm_flow())};
  }

 private:
  [[nodiscard]] double whole(const Sensitivity& sensitivity, double warm) const {
    return stepped(sensitivity, log_voltage_, log_barometer_) / (1 + warm);
  }

  [[nodiscard]] double flow_by_speed(double speed) const {
    const double e = t_.flow_per_speed + knobs_.flow_per_speed;
    const double barometer = (s_.flow.barometer - e * s_.speed.barometer) * log_barometer_;
    return std::pow(speed, e) * std::exp(barometer) / (1 + warm_head());
  }

  [[nodiscard]] double per_case(double per_k, double factor) const {
    return thermal(per_k, factor, state_.case_temperature_k, reference_.warm_case_temperature_k);
  }

  [[nodiscard]] double warm_speed() const {
    const double magnets = per_case(t_.speed_per_case_k, knobs_.speed_per_case);
    if (!(t_.winding_k_w > 0)) return magnets;
    const double winding = state_.case_temperature_k - reference_.warm_case_temperature_k +
                           state_.winding_lead_k - warm_winding_lead_k(reference_);
    return magnets - s_.copper_share * (warm_current() + kCopperPer_k * winding);
  }

  [[nodiscard]] double warm_flow() const {
    return per_case(t_.flow_per_case_k, knobs_.flow_per_case);
  }

  [[nodiscard]] double warm_current() const {
    return per_case(t_.current_per_case_k, knobs_.current_per_case) +
           per_head(t_.current_per_head_k * log_ratio(state_), knobs_.current_per_head);
  }

  [[nodiscard]] double beyond_type(double speed) const {
    return std::pow(speed, t_.current_per_speed + knobs_.current_per_speed);
  }

  [[nodiscard]] double warm_head() const {
    return per_head(flow_per_head_k(t_, state_), knobs_.flow_per_head);
  }

  [[nodiscard]] double per_head(double per_k, double factor) const {
    return thermal(per_k, factor, state_.head_temperature_k - state_.inlet_temperature_k,
                   reference_.warm_head_temperature_k - reference_.inlet_temperature_k);
  }

  const ReferenceConditions& reference_;
  const ThermalCorrection& t_;
  const Sensitivities& s_;
  const PointState& state_;
  const Knobs& knobs_;
  const double log_voltage_;
  const double log_barometer_;
};

std::string too_far(const char* format, double value, double limit) {
  char buffer[160];
  std::snprintf(buffer, sizeof buffer, format, value, limit);
  return buffer;
}

std::string too_warm(const ModelFacts& model, const PointState& state) {
  const double head = state.head_temperature_k - model.reference.warm_head_temperature_k;
  const double body = state.case_temperature_k - model.reference.warm_case_temperature_k;
  const ThermalCorrection& t = model.thermal;
  const bool uses_head = t.flow_per_head_k != 0 || t.current_per_head_k != 0;
  if (uses_head && !(std::abs(head) <= kMaxFromWarm_k))
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

double warm_winding_lead_k(const ReferenceConditions& reference) {
  return reference.warm_winding_temperature_k > 0
             ? reference.warm_winding_temperature_k - reference.warm_case_temperature_k
             : 0;
}

double log_ratio(const PointState& state) {
  const double ratio = 1 + state.discharge_gauge_pa / state.inlet_pressure_abs_pa;
  return std::log(std::max(1.0, ratio));
}

double flow_per_head_k(const ThermalCorrection& thermal, const PointState& state) {
  return thermal.flow_per_head_k + thermal.flow_per_head_k_pa * state.discharge_gauge_pa;
}

Outcome<Sensitivities> sensitivities_at(const NominalPhysics& nominal,
                                        const ReferenceConditions& reference,
                                        const PointState& state) {
  const TypeQuery middle = half_way(reference, state);
  const Outcome<TypeState> here = solve_type_model(nominal, middle);
  if (!here) return here.error();
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
                       {voltage->flow, barometer->flow},
                       copper_share(nominal, *here)};
}

Carry carry_of(const ModelFacts& model, const Sensitivities& sensitivities, const PointState& state,
               const Knobs& knobs) {
  return Carrier{model, sensitivities, state, knobs}.carry();
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
