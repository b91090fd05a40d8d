// By how much is the winding warmer than the case, when no sensor sees it?
//
// MODEL                          R I^2 copper loss, of the nominal resistance at 20 degC
//
//   tau dL/dt = k R I^2 - L ,   L = 0 at the start of the test                                (1)
//
//   k kelvin per watt and tau are learned per model (analysis/commissioning_warm_run.h). Integrated
//   over the current as it was measured, exactly for a current that stays what it was between two
//   samples.
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

[[nodiscard]] double winding_lead_k(const Column& current, const WindingHeat& heat, double at_s);

[[nodiscard]] double winding_lead_k(const Survey& survey, const ThermalCorrection& thermal,
                                    double at_s);

}  // namespace endgate::analysis
