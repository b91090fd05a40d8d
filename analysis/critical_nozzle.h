// How much air passes a choked nozzle, and is this nozzle choked?
//
// MODEL (ISO 9300)
//
//   q_m = A C_d C* p_0 / sqrt(R T_0)                                        [kg/s]      (1)
//
//     A       pi d^2 / 4, throat                                            [m2]
//     C*      critical flow function of an ideal gas of heat ratio 1.4, 0.68473, times what real
//             air adds: 1 + kRealGas_per_pa p_0                             [1]
//     C_d     discharge coefficient: given with the nozzle's own calibration, else for a normally
//             machined toroidal throat  0.9959 - 2.720 / sqrt(Re)           [1]
//     Re      4 q_m / (pi d mu_0), so C_d and q_m are found together
//     p_0 T_0 stagnation pressure (absolute) and temperature upstream       [Pa], [K]
//     R       of the moist gas: analysis/moist_air.h                        [J/(kg K)]
//     mu      Sutherland's law, 1.458e-6 T^1.5 / (T + 110.4)                [Pa s]
//
//   u_rel^2 = u_area_rel^2 + u_pressure_rel^2 + (u_temperature_rel / 2)^2 + kRealGas_u_rel^2 (+
//   C_d)
//
//   A throat below a millimetre is known badly by its diameter (1 um of 0.5 mm is 0.4 % of area),
//   so a nozzle should come with its calibrated area A C_d; the formula of C_d is then not used.
//
// Range: 1.0e4 < Re, p_0 up to 1 MPa, dry or slightly moist air near 293 K.  Choked: downstream to
// upstream pressure at most 0.5 without a diffuser; beyond it (1) does not hold and is refused.
//
// Source: ISO 9300:2005, C_d from memory (the 2022 edition fitted it anew: look it up before
// quoting); C* recomputed; the real-gas term is a straight line within 0.0003 of the values
// recomputed from a second-virial isentrope at 293 K (0.68515 at 0.1 MPa, 0.68774 at 1 MPa).

#pragma once

#include <optional>

#include "analysis/outcome.h"

namespace endgate::analysis {

inline constexpr double kCriticalFlowFunction = 0.68473146;  // ideal, heat ratio 1.4
inline constexpr double kRealGas_per_pa = 4.32e-9;
inline constexpr double kRealGas_u_rel = 0.0004;
inline constexpr double kDischarge_u_rel = 0.0015;  // of the formula, half of its 0.3 %
inline constexpr double kMostChokedRatio = 0.5;

struct NozzleReading {
  double throat_diameter_m = 0;  // needed for Re, and for A when `effective_area_m2` is missing
  std::optional<double> effective_area_m2{};  // A C_d as calibrated
  double u_area_rel = 0;                      // of whichever of the two is used, A itself
  double upstream_abs_pa = 0;
  double u_upstream_pa = 0;
  double downstream_abs_pa = 0;
  double upstream_k = 0;
  double u_upstream_k = 0;
  double humidity_ratio = 0;  // kg vapour per kg dry air
  bool real_gas = true;       // false: the ideal C*, for comparison with published values
};

struct NozzleFlow {
  double mass_kg_s = 0;  // total, moist
  double u_rel = 0;      // standard
  double discharge_coefficient = 0;
  double reynolds = 0;
};

// Refuses with value_out_of_domain (a number that is not above 0, not choked, Re too small).
[[nodiscard]] Outcome<NozzleFlow> nozzle_flow(const NozzleReading& reading);

// Viscosity of air, Pa s.
[[nodiscard]] double viscosity_of_air(double temperature_k);

}  // namespace endgate::analysis
