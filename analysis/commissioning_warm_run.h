// How do speed, current and flow of a model move while a unit warms up, and with its speed?
//
// WARM RUN    one pressure held from cold for a minute, in many short holds: in a cold room, in a
//             warm one, and at a lower voltage; at several pressures, for some units of the model.
//             While a unit warms up its winding runs ahead of its case and its head ahead of both;
//             rooms and pressures part them.
//
//   ln N + rho (h + alpha T_case) = a + k_case T_case - g rho alpha x(tau)
//   ln I                 = a'  + k_I T_case + k_H ln(r) (T_head - T_inlet) + e_I ln N         (1)
//   ln q                 = a'' + e ln N + (k_0 + k_1 p) (T_head - T_inlet)
//
//   h   what heat does to the current, by the second line, which is solved first
//   x   lead of a winding of 1 K/W (analysis/winding_lead.h), g its true kelvin per watt
//   e   power of speed in the flow: only a second voltage can tell it
//   the rest as in analysis/reference_conditions.h (2).  Each run (unit, pressure, voltage) has its
//   own level a; runs in two rooms share it, those of current and flow are shared by both voltages
//   too.
//
//   Runs below kUnderLoadRatio say nothing of the current: without load it is friction and valve
//   losses, which go otherwise with temperature and speed, and no metric rests on it.
//
// ESTIMATE  one least-squares problem per unit; tau is that with the least chi2 over all units, on
//   a grid.  Mean over the units, and their scatter: the next unit is another one.
//
// Only readings of the bench go in, carried to reference voltage (speed, current) with thermal
// corrections left out.  Refuses with too_few_points below two units or three holds in a run,
// span_too_narrow when nothing warmed up, or as the least squares do.

#pragma once

#include <vector>

#include "analysis/commissioning_thermal.h"
#include "analysis/outcome.h"
#include "analysis/survey.h"

namespace endgate::analysis {

// One unit at one pressure.  The surveys outlive the call.
struct WarmRun {
  std::vector<const Survey*> nominal_voltage;  // one per room
  std::vector<const Survey*> low_voltage;      // may be empty: then e is not learned
};
using WarmUnit = std::vector<WarmRun>;

inline constexpr double kUnderLoadRatio = 1.5;  // of absolute pressures

struct WarmRunLearnt {
  Spread speed_per_case_k;
  Spread winding_k_w;
  double winding_s = 0;
  Spread current_per_case_k;
  Spread current_per_head_k;
  Spread current_per_speed;  // stays 0 without a low voltage
  Spread flow_per_head_k;
  Spread flow_per_head_k_pa;
  Spread flow_per_speed;
};
[[nodiscard]] Outcome<WarmRunLearnt> learn_warm_run(const std::vector<WarmUnit>& units);

}  // namespace endgate::analysis
