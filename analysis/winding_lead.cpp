#include "analysis/winding_lead.h"

#include <algorithm>
#include <cmath>

namespace endgate::analysis {

double winding_lead_k(const WindingReadings& readings, const WindingHeat& heat, double at_s) {
  if (!(heat.tau_s > 0)) return 0;
  const Column& current = readings.current;
  const auto body_k = [&](double time_s) {
    return interpolate(readings.body, time_s + readings.body_lag_s).value_or(0);
  };
  double lead = 0;
  for (std::size_t i = 0; i + 1 < current.time_s.size() && current.time_s[i] < at_s; ++i) {
    const double until = std::min(at_s, current.time_s[i + 1]);
    const double dt = until - current.time_s[i];
    if (!(dt > 0)) continue;
    const double kept = std::exp(-dt / heat.tau_s);
    const double rise_k_s = (body_k(until) - body_k(current.time_s[i])) / dt;
    const double settled = heat.k_w * heat.resistance_ohm * current.value[i] * current.value[i] -
                           heat.tau_s * rise_k_s;
    lead = settled + (lead - settled) * kept;
  }
  return lead;
}

double winding_lead_k(const Survey& survey, const WindingHeat& heat, double at_s) {
  if (!survey.usable(Role::supply_current)) return 0;
  static const Column kStill;
  const Samples& body = survey.samples[index_of(Role::case_temperature)];
  const bool known = survey.usable(Role::case_temperature) && body.facts != nullptr;
  return winding_lead_k({survey.samples[index_of(Role::supply_current)].column,
                         known ? body.column : kStill, known ? body.facts->lag_s : 0},
                        heat, at_s);
}

double winding_lead_k(const Survey& survey, const ThermalCorrection& thermal, double at_s) {
  if (!(thermal.winding_k_w > 0)) return 0;
  return winding_lead_k(survey,
                        WindingHeat{survey.context->model.nominal.winding_resistance_ohm,
                                    thermal.winding_k_w, thermal.winding_s},
                        at_s);
}

}  // namespace endgate::analysis
