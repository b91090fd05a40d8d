// By how much is the winding warmer than the case, when no sensor sees it?
//
// MODEL                          R I^2 copper loss, of the nominal resistance at 20 degC
//
//   tau dT_w/dt = k R I^2 + T_case - T_w       winding against the case beside it
//   tau dL/dt   = k R I^2 - L - tau dT_case/dt ,   L = 0 at the start of the test             (1)
//
//   k kelvin per watt and tau are learned per model (analysis/commissioning_warm_run.h).  The case
//   is warmed by friction and brushes as well, so in the first seconds it may lead the winding.
//   Integrated over current and case as they were measured, exactly for a current that stays what
//   it was and a case that moves in a straight line between two samples.
//
// L is 0 where the model has no such constants or the current cannot be used.

#pragma once

#include <vector>

#include "analysis/survey.h"

namespace endgate::analysis {

struct WindingHeat {
  double resistance_ohm = 0;
  double k_w = 0;
  double tau_s = 0;
};

// What drives it; an empty case stands still.
struct WindingReadings {
  const Column& current;
  const Column& body;
  double body_lag_s = 0;  // of the sensor: a slow rise is read so much later
};
[[nodiscard]] double winding_lead_k(const WindingReadings& readings, const WindingHeat& heat,
                                    double at_s);

[[nodiscard]] double winding_lead_k(const Survey& survey, const WindingHeat& heat, double at_s);
[[nodiscard]] double winding_lead_k(const Survey& survey, const ThermalCorrection& thermal,
                                    double at_s);

}  // namespace endgate::analysis
