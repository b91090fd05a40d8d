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

inline constexpr double kStep_u_rel = 0.1;  // engineering judgement, checked by simulation

// Log-derivatives with respect to voltage and barometer at fixed gauge pressure.
struct Sensitivity {
  double voltage = 0;
  double barometer = 0;
};
struct Sensitivities {
  Sensitivity speed;
  Sensitivity current;
  Sensitivity flow;
};

struct PointState {
  double supply_voltage_v = 0;
  double discharge_gauge_pa = 0;
  double inlet_pressure_abs_pa = 0;
  double inlet_temperature_k = 0;
  double head_temperature_k = 0;
  double case_temperature_k = 0;
};

[[nodiscard]] Outcome<Sensitivities> sensitivities_at(const NominalPhysics& nominal,
                                                      const ReferenceConditions& reference,
                                                      const PointState& state);

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
