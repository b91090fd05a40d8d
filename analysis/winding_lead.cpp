#include "analysis/winding_lead.h"

#include <algorithm>
#include <cmath>

namespace endgate::analysis {

double winding_lead_k(const Column& current, const WindingHeat& heat, double at_s) {
  if (!(heat.k_w > 0) || !(heat.tau_s > 0)) return 0;
  double lead = 0;
  for (std::size_t i = 0; i + 1 < current.time_s.size() && current.time_s[i] < at_s; ++i) {
    const double until = std::min(at_s, current.time_s[i + 1]);
    const double kept = std::exp(-(until - current.time_s[i]) / heat.tau_s);
    const double settled = heat.k_w * heat.resistance_ohm * current.value[i] * current.value[i];
    lead = settled + (lead - settled) * kept;
  }
  return lead;
}

double winding_lead_k(const Survey& survey, const ThermalCorrection& thermal, double at_s) {
  if (!survey.usable(Role::supply_current)) return 0;
  return winding_lead_k(survey.samples[index_of(Role::supply_current)].column,
                        {survey.context->model.nominal.winding_resistance_ohm, thermal.winding_k_w,
                         thermal.winding_s},
                        at_s);
}

}  // namespace endgate::analysis
