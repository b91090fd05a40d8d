// What would this unit have done at reference voltage, barometer and temperature?
//
// CARRY     y_ref = y (V_ref/V)^s_V (p_ref/p_a)^s_p / (1 + k_head (T_head - T_warm) + ...)    (1)
//
//   y        speed, current or flow of one operating point, at its own gauge pressure
//   s_V, s_p log-derivatives of the nominal type model (analysis/type_model.h) by central
//            difference, half way between actual and reference state.  Speed moves 1.2 % per
//            percent of voltage, flow less: a correction in proportion would be wrong.
//   k        learned per model and kelvin above the warm state; that of flow includes what the
//            speed contributes, since it is learned at constant voltage.  The head heats the gas on
//            its way in by its warmth over the inlet, so T_head counts from the inlet temperature;
//            magnets and winding feel the temperature of the case itself
//
//   Where the model has learned how its winding runs ahead of its case (winding_k_w) and how flow
//   goes with speed (flow_per_speed), (1) becomes, with rho = R I/(k_e 2 pi N) of the nominal unit:
//
//   N_ref = N (V_ref/V)^s_V (p_ref/p_a)^s_p / (1 + k_case dT_case - rho (h + alpha dT_winding))
//   q_ref = q (N_ref/N)^e (p_ref/p_a)^(s_p,q - e s_p,N) / (1 + k_head(p) dT_head)              (2)
//
//   I_ref = I (V_ref/V)^s_V (p_ref/p_a)^s_p (N_ref/N)^e_I
//           / (1 + h) ,   h = k_I dT_case + k_H ln(r) dT_head ,   r = 1 + p/p_a               (3)
//
//   Weak warm magnets make the crank faster; what a warm winding and the current take from the
//   voltage makes it slower, more so the more current: N goes with (V - V_b - R I)/k_e.  alpha is
//   that of copper (IEC 60028).  k_head grows with pressure: the gas that re-expands is as hot as
//   the head.  A hot head also takes less heat from the gas that is compressed: its exponent n
//   rises, and work of compression, (r^((n-1)/n) - 1) n/(n-1), rises with n by ln(r)/(2 n^2) to
//   first order: one coefficient per kelvin serves all pressures.  e_I is what the type model
//   misses of the current's growth with speed (valve losses, heat, recompressed leak); 0 where not
//   learned.
//
//   Free-air delivery at fixed ratio and speed does not depend on inlet temperature to first order;
//   humidity is exact on dry mass.  Neither is corrected here.
//
// UNCERTAINTY  grows with the correction: u_rel_of_correction of each thermal part, kStep_u_rel of
//   the step in voltage and in barometer.
//
// CONTRACT
//   RC-1  At the reference state (1) changes nothing.
//   RC-2  Refused beyond 8 % of inlet pressure, 15 K of inlet temperature, 12 % of speed, and 60 K
//         from the warm state: there neither linear terms nor the nominal unit can be relied on.

#pragma once

#include <optional>
#include <string>

#include "analysis/context.h"
#include "analysis/knobs.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

inline constexpr double kStep_u_rel = 0.1;       // engineering judgement, checked by simulation
inline constexpr double kCopperPer_k = 0.00393;  // IEC 60028, at 20 degC; from memory

// Log-derivatives with respect to voltage and barometer at fixed gauge pressure.
struct Sensitivity {
  double voltage = 0;
  double barometer = 0;
};
struct Sensitivities {
  Sensitivity speed;
  Sensitivity current;
  Sensitivity flow;
  double copper_share = 0;  // rho of (2), at reference conditions
};

struct PointState {
  double supply_voltage_v = 0;
  double discharge_gauge_pa = 0;
  double inlet_pressure_abs_pa = 0;
  double inlet_temperature_k = 0;
  double head_temperature_k = 0;
  double case_temperature_k = 0;
  double winding_lead_k = 0;  // over the case
};

[[nodiscard]] Outcome<Sensitivities> sensitivities_at(const NominalPhysics& nominal,
                                                      const ReferenceConditions& reference,
                                                      const PointState& state);

// Lead of the winding over the case in the warm state.
[[nodiscard]] double warm_winding_lead_k(const ReferenceConditions& reference);

// ln(r) of (3), at least 0.
[[nodiscard]] double log_ratio(const PointState& state);

// Of the head's warmth over the inlet, at the pressure of that point.
[[nodiscard]] double flow_per_head_k(const ThermalCorrection& thermal, const PointState& state);

struct Carry {
  double speed = 1;  // factors on the measured values
  double current = 1;
  double flow = 1;
};
[[nodiscard]] Carry carry_of(const ModelFacts& model, const Sensitivities& sensitivities,
                             const PointState& state, const Knobs& knobs);

// Why this point is too far from the reference to be corrected; empty when it is not.
[[nodiscard]] std::string beyond_correction(const ModelFacts& model, const PointState& state,
                                            const Carry& carry);

}  // namespace endgate::analysis
