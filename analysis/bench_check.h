// Is the bench itself still what its calibration says?  Three checks from readings a person took.
//
// METER   The flow meter in series with a critical nozzle, total moist mass of both:
//           metered = reading rho_ref,   rho_ref dry density at the meter's own reference state
// LEAK    The bench with a tight blank clamped, valves shut:
//           q = V / p_ref (p_1 T_2/T_1 - p_2) / t  T_ref / T_2,   at the reference inlet state
// VOLUME  Gas expands from a vessel of known volume into the receiver, both at one temperature:
//           V = V_ref (p_ref - p_f) / (p_f - p_0)
//
// Each answer is what was measured and what the calibration expects, with the combined standard
// uncertainty of the difference.  In control: |difference| <= kCheckFactor u.
//
// CONTRACT  (tests/analysis/upkeep_bench_check_test.cpp)
//
//   BC-1  The published expansion gives 5.0168472 L.
//   BC-2  Exactly kCheckFactor u is in control; a difference without a known u never is.
//   BC-3  A reading outside its domain is a refusal that names it.
//
// Source: ideal gas; the expansion method is common practice, its value was computed twice.

#pragma once

#include <optional>
#include <string>

#include "analysis/critical_nozzle.h"
#include "analysis/flow_state.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

inline constexpr double kCheckFactor = 3;  // chance alone: 0.3 % of checks

struct CheckResult {
  double measured = 0, u_measured = 0;
  double expected = 0, u_expected = 0;
  double allowed = 0;  // kCheckFactor times the combined u of the difference
  bool in_control = false;
};

// Two numbers of one quantity with independent u.
[[nodiscard]] CheckResult held_against(double measured, double u_measured, double expected,
                                       double u_expected);

struct MeterReading {
  StandardFlow flow;  // as metered, calibrated
  double u_flow_rel = 0;
  DryReference reference;  // at which the meter's volume is defined
};
// In m3/s at the meter's reference state.
[[nodiscard]] Outcome<CheckResult> check_meter(const NozzleReading& nozzle,
                                               const MeterReading& meter);

struct LeakDwell {
  double volume_m3 = 0, u_volume_rel = 0;
  double start_abs_pa = 0, end_abs_pa = 0;
  double u_pressure_pa = 0;  // of the difference of the two readings
  double start_k = 0, end_k = 0;
  double u_temperature_k = 0;  // of the difference
  double seconds = 0;
};
struct StatedLeak {
  double leak_m3_s = 0, u_m3_s = 0;
};
// In m3/s at `reference`: dry air of that state.
[[nodiscard]] Outcome<CheckResult> check_leak(const LeakDwell& dwell, const StatedLeak& stated,
                                              const DryReference& reference);

struct Expansion {
  double reference_volume_m3 = 0, u_reference_rel = 0;
  double reference_abs_pa = 0;  // in the known vessel before
  double receiver_abs_pa = 0;   // in the receiver before
  double final_abs_pa = 0;      // in both after, once the temperatures are equal again
  double u_pressure_pa = 0;     // of each of the three
};
struct StatedVolume {
  double volume_m3 = 0, u_rel = 0;
};
[[nodiscard]] Outcome<CheckResult> check_volume(const Expansion& expansion,
                                                const StatedVolume& stated);

}  // namespace endgate::analysis
