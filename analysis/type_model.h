// How would the nominal unit of this model run at this voltage, pressure and barometer?
//
// Drives sensitivities (how speed, current and flow move with voltage and barometer) and the shape
// between the holds.  It is only ever used as a ratio of two of its answers, never as a verdict.
//
// MODEL                                             N speed, p_a inlet, p = p_a + gauge pressure
//
//   R I + k_e 2 pi N + V_b = V ,   k_t I = W/(2 pi eta_m) + T_0                    motor
//   p_s = p_a - k_s (N/50)^2 ,   p_c = p + k_d (N/50)^2 ,   rho = p_c/p_s          valve losses
//   v   = 1 + c - c rho^(1/n)                                                      clearance
//   W   = n/(n-1) p_s V_s v (rho^((n-1)/n) - 1)                                    work per turn
//   q   = N V_s h v p_s/p_a - leak (p^2 - p_a^2)                                   at inlet state
//
//   Not in it: temperature of winding and magnets, recompression of leaked gas (0.5 % of current
//   at 800 kPa for the unit in tests/analysis/measure_type_model_test.cpp), pulsation.
//
// Refuses with value_out_of_domain when the nominal data or the query allow no running unit.

#pragma once

#include "analysis/context.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

struct TypeQuery {
  double supply_voltage_v = 0;
  double discharge_gauge_pa = 0;
  double inlet_pressure_abs_pa = 0;
};

struct TypeState {
  double speed_rev_s = 0;
  double supply_current_a = 0;
  double flow_inlet_m3_s = 0;
};

[[nodiscard]] Outcome<TypeState> solve_type_model(const NominalPhysics& nominal,
                                                  const TypeQuery& query);

}  // namespace endgate::analysis
