// A test whose truth is known: made by the equations themselves, without instruments in between
// unless asked for.  Only for tests of the analysis; the simulated bench is another matter.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis::made {

struct Truth {
  double a_m3 = 1.75e-5;
  double b_m3 = 1.4e-6;
  double leak_m3_s = 2.0e-7;   // L
  double speed_factor = 1.01;  // of the nominal unit
  double current_factor = 0.98;
  double back_leak_m3_s_pa2 = 3.6e-19;  // at standstill
  double seal_leak_m3_s_pa2 = 7.6e-18;
  double beside_rel = 0;  // bump of the flow round 400 kPa, which no curve follows
};

struct Manners {
  bool counts = false;        // the context describes counts, else 64-bit floats
  double meter_lag_s = 0.25;  // also stated in the context
  double head_above_room_k = 40;
  double relative_humidity = 0.4;
  double evaporation_s = 0;  // of water left in the receiver, after the let-down; 0: none
  double barometer_abs_pa = 100000;
  double room_k = 293.15;
  double hold_s = 11;
  double ramp_s = 5;
  bool pump_up = false;  // hold at 0, fill with the outlet shut, hold at 800 and 600 kPa
  bool ramp = false;     // hold at 0, ramp to 600 kPa, hold at 600 and 800 kPa
  double supply_voltage_v = 13.5;
  double pressure_offset_pa = 0;  // of the sensor, present from the zero step on
};

[[nodiscard]] Context context(const Manners& manners = {});
[[nodiscard]] RawTrace trace(const Truth& truth, const Manners& manners, const Context& context);

// The same test seen by instruments: correlated noise as the context states it, then counts.
[[nodiscard]] RawTrace through_instruments(const RawTrace& exact, const Context& counting,
                                           std::uint64_t seed);

// The flow that the truth delivers at reference conditions.
[[nodiscard]] double flow_m3_s(const Truth& truth, const Context& context, double gauge_pa);
[[nodiscard]] double speed_rev_s(const Truth& truth, const Context& context, double gauge_pa);

[[nodiscard]] ChannelFacts& channel(Context& context, Role role);
[[nodiscard]] RawChannel& channel(RawTrace& trace, const std::string& id);

}  // namespace endgate::analysis::made
