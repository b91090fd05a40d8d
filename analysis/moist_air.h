// How much dry air and how much water is in this gas, and which volume was it at the inlet?
//
// MODEL (ideal mixture; within 4e-4 of the real density of room air)
//
//   e   = h e_s(T)                     vapour pressure                                    [Pa]
//   w   = 0.62196 e / (p - e)          humidity ratio, kg vapour per kg dry air           [1]
//   rho = (p - e)/(R_d T) + e/(R_v T)  density of the moist gas                           [kg/m3]
//   q   = mdot_dry (R_d + w R_v) T/p   volume at the state (p, T, w): analysis/flow_state.h [m3/s]
//
//   e_s is the saturation pressure over water of IAPWS-IF97, region 4 (273.15 ... 647 K; below it
//   the same formula is carried on).  Compressed air holds at most w_s(p, T): what is beyond it has
//   condensed before the meter and is added back by counting dry mass only.
//
// A thermal mass meter reads total (moist) mass, labelled in litres of dry air at its own reference
// state; that state belongs to the reading and is never a default here.
//
// Pressures are absolute.  Nothing here refuses: arguments outside the domain are clamped to it,
// because the channel health already judged the readings.

#pragma once

namespace endgate::analysis {

inline constexpr double kGasConstantDryAir = 287.04781;  // J/(kg K)
inline constexpr double kGasConstantVapour = 461.52333;  // J/(kg K)
inline constexpr double kHeatRatio = 1.4;                // of air
inline constexpr double kLatentHeat_j_kg = 2.454e6;      // of water at 20 degC; from memory

struct AirState {
  double pressure_abs_pa = 0;
  double temperature_k = 0;
  double relative_humidity = 0;  // 0..1 over water
};

// A state at which a meter or a standard defines its litre: dry air.
struct DryReference {
  double pressure_abs_pa = 0;
  double temperature_k = 0;
};

[[nodiscard]] double saturation_pressure_pa(double temperature_k);

[[nodiscard]] double humidity_ratio(const AirState& air);

[[nodiscard]] double dry_density_kg_m3(const DryReference& reference);

// Specific gas constant of air with `ratio` kg of vapour per kg of dry air, per kg of mixture.
[[nodiscard]] double mixture_gas_constant(double ratio);

}  // namespace endgate::analysis
