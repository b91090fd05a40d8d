#include "analysis/critical_nozzle.h"

#include <cmath>
#include <numbers>

#include "analysis/moist_air.h"
#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

constexpr double kLeastReynolds = 1.0e4;
constexpr int kMostRounds = 50;

double formula_of_discharge(double reynolds) { return 0.9959 - 2.720 / std::sqrt(reynolds); }

std::optional<Refusal> wrong(const NozzleReading& reading) {
  const auto above_zero = [](double value) { return std::isfinite(value) && value > 0; };
  if (!above_zero(reading.throat_diameter_m))
    return out_of_domain("the throat diameter is not above 0");
  if (!above_zero(reading.upstream_abs_pa))
    return out_of_domain("the upstream pressure is not above 0");
  if (!above_zero(reading.upstream_k))
    return out_of_domain("the upstream temperature is not above 0");
  if (!above_zero(reading.downstream_abs_pa))
    return out_of_domain("the downstream pressure is not above 0");
  if (reading.effective_area_m2 && !above_zero(*reading.effective_area_m2))
    return out_of_domain("the effective area is not above 0");
  if (reading.downstream_abs_pa > kMostChokedRatio * reading.upstream_abs_pa)
    return out_of_domain(
        "the nozzle is not choked: downstream is above half of the upstream pressure");
  return std::nullopt;
}

// q_m for an effective area of 1 m2.
double flow_per_area(const NozzleReading& reading) {
  const double real = reading.real_gas ? 1 + kRealGas_per_pa * reading.upstream_abs_pa : 1;
  return kCriticalFlowFunction * real * reading.upstream_abs_pa /
         std::sqrt(mixture_gas_constant(reading.humidity_ratio) * reading.upstream_k);
}

double relative_u(const NozzleReading& reading) {
  double square = reading.u_area_rel * reading.u_area_rel;
  const auto add = [&square](double part) { square += part * part; };
  add(reading.u_upstream_pa / reading.upstream_abs_pa);
  add(0.5 * reading.u_upstream_k / reading.upstream_k);
  add(kRealGas_u_rel);
  if (!reading.effective_area_m2) add(kDischarge_u_rel);
  return std::sqrt(square);
}

}  // namespace

double viscosity_of_air(double temperature_k) {
  return 1.458e-6 * std::pow(temperature_k, 1.5) / (temperature_k + 110.4);
}

Outcome<NozzleFlow> nozzle_flow(const NozzleReading& reading) {
  if (auto refusal = wrong(reading)) return *refusal;
  const double diameter = reading.throat_diameter_m;
  const double area = std::numbers::pi / 4 * diameter * diameter;
  const double per_area = flow_per_area(reading);
  const double per_reynolds =
      4 / (std::numbers::pi * diameter * viscosity_of_air(reading.upstream_k));
  NozzleFlow flow{.mass_kg_s = per_area * reading.effective_area_m2.value_or(area),
                  .u_rel = relative_u(reading)};
  if (reading.effective_area_m2) flow.discharge_coefficient = *reading.effective_area_m2 / area;
  for (int round = 0; !reading.effective_area_m2 && round < kMostRounds; ++round) {
    flow.discharge_coefficient = formula_of_discharge(per_reynolds * flow.mass_kg_s);
    flow.mass_kg_s = per_area * area * flow.discharge_coefficient;
  }
  flow.reynolds = per_reynolds * flow.mass_kg_s;
  if (!(flow.reynolds > kLeastReynolds))
    return out_of_domain("the throat's Reynolds number is below 1e4");
  return flow;
}

}  // namespace endgate::analysis
