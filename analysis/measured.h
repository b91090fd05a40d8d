// What did the unit do at each hold and in each leak test, as it stood on the bench that day?
//
//   m_in  = z + lag slope(metered) + V/(k R T_in) slope(p)      analysis/receiver_gas.h, (1)
//   q     = m_in/(1 + w) (R_d + w R_v) T_1/p_1                  free-air delivery, inlet state
//
//   I     = I_read - J d(omega)/dt / k_e        while the pressure rises: what the slowing rotor gives
//
// m_in is what enters the receiver, vapour that condenses there and never reaches the meter
// included; w is the humidity ratio of the inlet.
//
// At the actual inlet, voltage and temperature: nothing is carried to reference here.
// All numbers follow the knobs; decisions come from the survey.

#pragma once

#include <optional>
#include <vector>

#include "analysis/knobs.h"
#include "analysis/outcome.h"
#include "analysis/reference_conditions.h"
#include "analysis/survey.h"

namespace endgate::analysis {

struct HoldReading {
  PointState state;
  double relative_humidity = 0;
  double flow_inlet_m3_s = 0;
  // Of the flow, known to be beside the curve: only in the runs for u.
  double beside_curve_m3_s = 0;
  double storage_m3_s = 0;  // share of the receiver, inside flow_inlet
  double speed_rev_s = 0;
  double supply_current_a = 0;
  // From the waveform of the current (hold_ripple.h); 0 where the survey's hold refuses them.
  double ripple_speed_rev_s = 0;
  double ripple_lock = 0;
  double cylinder_imbalance = 0;
  double commutator_irregularity = 0;
};

struct LeakReading {
  double leak_m3_s = 0;  // at reference inlet state, fixture's share taken off
  double u_random_m3_s = 0;
  double mean_abs_pa = 0;
  double outside_abs_pa = 0;
  double to_service = 0;  // leak at the model's service pressure over this; 0: it names none
};

// Random parts of u of one hold; the knobs do not move them.
struct HoldNoise {
  double gauge_pa = 0;
  double flow_m3_s = 0;
  double speed_rev_s = 0;
  double current_a = 0;
  double voltage_v = 0;
  double ripple_speed_rev_s = 0;
  double cylinder_imbalance = 0;
  double commutator_irregularity = 0;
};

struct Measured {
  std::vector<HoldReading> holds;  // as in the survey; default where a hold has no window
  Outcome<LeakReading> back_leak;
  Outcome<LeakReading> seal_leak;
  Outcome<RunDown> run_down;
};

// `history`: the gas with these knobs; the survey's own when none that moves the gas is turned.
[[nodiscard]] Measured measure(const Survey& survey, const Knobs& knobs, const GasHistory& history);

[[nodiscard]] HoldNoise noise_of(const Survey& survey, const HoldWindow& hold,
                                 const HoldReading& reading);

}  // namespace endgate::analysis
