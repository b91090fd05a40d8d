// How much gas goes into the receiver while another amount comes out?
//
// Gas arrives hot and cools in the vessel for seconds: at a held pressure the cooling gas takes in
// mass that the meter behind the vessel does not see.  "Pressure steady" is not "flow steady".
// Compressed room air is mostly wetter than it can stay: what condenses warms the gas by several
// kelvin, and what evaporates later hides a leak.
//
// MODEL           m = d + v gas mass, dry and vapour, p absolute, T gas, T_w wall, V volume
//
//   p V = (d R_d + v R_v) T                                                            state
//   dd/dt = (1 - x) m_in - d/m m_out ,  dv/dt = x m_in - v/m m_out - c                 mass
//   V/(k-1) dp/dt = cp (m_in T_in - m_out T) - G (T - T_w) + c (L - k/(k-1) R_v T)     energy
//   c = (v - v_s(T)) / kFog_s  above saturation, else evaporation within the vessel's own time,
//       as long as there is water
//   G = G_600 (p / 600 kPa)^x            conductance grows with pressure
//   C_w dT_w/dt = G (T - T_w) - K (T_w - T_room)     C_w = 0: T_w = T_room
//   T_in = T_room + share (T_head - T_room) + share_d rise    where the gas enters the receiver
//   rise = T_room ((p/p_room)^((n-1)/n) - 1)    by compression: the head takes up most of it, and
//                                               lags behind it by far more than a hold
//
//   While the motor runs the outflow is the meter's: m_in follows from energy, m from mass.  While
//   it stands nothing enters and the outflow follows from energy.  m starts at room state in the
//   first sample, and again whenever another receiver is chosen; a wrong start dies out within a
//   few m cv/G (5-15 s).  Fog forms within tenths of a second (kFog_s); a second gives the same
//   flows.
//
// ESTIMATE
//
//   m_in = z + V/(k R T_in) dp/dt,   z = [m_out cp T + G (T - T_w) - c (L - ...)] / (cp T_in)  (1)
//
//   z has the noise of the meter only; over a window the w-mean of dp/dt is the regression slope of
//   p (analysis/window_moments.h).  So the storage correction costs the noise of one slope.  In the
//   integration the meter's lag is undone exactly: m_out dt becomes y dt + lag dy.  While the outlet
//   is shut nothing leaves, and the meter, still falling, is not asked.
//
//   Not in it: cooling in the pipe to the meter; the heat ratio of vapour (k = 1.4 for both).
//   Steps longer than 25 ms are divided.  T is kept inside 180 ... 700 K, so no reading, however
//   wrong, gives a number that is not finite.
//
// Units SI; pressures are named gauge or absolute.

#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "analysis/context.h"

namespace endgate::analysis {

inline constexpr double kFog_s = 0.3;

// Readings on the time stamps of the discharge pressure; all of the same length.
struct GasReadings {
  std::vector<double> time_s;
  std::vector<double> gauge_pa;
  std::vector<double> metered_kg_s;  // total moist mass, as the meter reads it (lag not undone)
  std::vector<double> head_k;
  std::vector<double> ambient_k;
  std::vector<double> compression_rise_k;  // empty: none
  std::vector<std::uint8_t> motor_on;
  std::vector<std::uint8_t>
      outlet_shut;  // nothing leaves, whatever the meter still says; may be empty
  std::vector<std::uint8_t> receiver;  // index into GasSettings::receivers, kNoReceiver: none
};
inline constexpr std::uint8_t kNoReceiver = 255;

// A reading taken otherwise: value' = gain value + offset.
struct Turned {
  double gain = 1;
  double offset = 0;  // in the unit of the reading

  [[nodiscard]] double operator()(double value) const { return gain * value + offset; }
};

struct GasSettings {
  std::vector<Receiver> receivers;
  double inlet_pressure_abs_pa = 100000;
  double inlet_humidity_ratio = 0;  // kg vapour per kg dry air
  double inlet_head_share = 0;
  double inlet_discharge_share = 0;
  double meter_lag_s = 0;
  Turned gauge;
  Turned metered;
  Turned head;
  Turned ambient;
};

// What is in the receiver.
struct GasContent {
  double dry_kg = 0;
  double vapour_kg = 0;
  double water_kg = 0;
  double wall_k = 0;
};

struct GasHistory {
  std::vector<double> inflow_kg_s;  // z of (1), on the same time stamps; 0 while the motor stands
  std::vector<double> temperature_k;
  std::vector<GasContent> content;
};

// `rise` of the model.
[[nodiscard]] double compression_rise_k(double room_k, double pressure_ratio,
                                        double polytropic_exponent);

[[nodiscard]] double conductance_w_k(const Receiver& receiver, double pressure_abs_pa);

// m cv / G: how fast gas in a closed receiver takes the temperature of its wall.
[[nodiscard]] double cooling_time_s(const Receiver& receiver, double pressure_abs_pa,
                                    double temperature_k);

// V/(k R T_in): mass taken in per pascal, without heat.
[[nodiscard]] double storage_kg_pa(const Receiver& receiver, double gas_constant,
                                   double inlet_gas_k);

// `history` is overwritten; it is passed in so that many runs share its memory.
void follow_gas(const GasReadings& readings, const GasSettings& settings, GasHistory& history);

// Absolute pressure of a receiver shut on both sides, without any leak, at increasing times >= 0
// from the moment in which it has this content and pressure.
struct ShutReceiver {
  Receiver receiver;
  GasContent content;
  double pressure_abs_pa = 0;
  double room_k = 0;
};
[[nodiscard]] std::vector<double> shut_pressure_abs_pa(const ShutReceiver& start,
                                                       const std::vector<double>& time_s);

}  // namespace endgate::analysis
