#include "analysis/moist_air.h"

#include <algorithm>
#include <cmath>

namespace endgate::analysis {
namespace {

constexpr double kMolarMassRatio = kGasConstantDryAir / kGasConstantVapour;

// Coefficients n1 ... n10 of IAPWS-IF97, region 4.
constexpr double kN[] = {0.11670521452767e4,  -0.72421316703206e6, -0.17073846940092e2,
                         0.12020824702470e5,  -0.32325550322333e7, 0.14915108613530e2,
                         -0.48232657361591e4, 0.40511340542057e6,  -0.23855557567849,
                         0.65017534844798e3};

double ratio_of(double vapour_pa, double pressure_abs_pa) {
  const double total = std::max(pressure_abs_pa, 1.0);
  const double vapour = std::clamp(vapour_pa, 0.0, 0.95 * total);
  return kMolarMassRatio * vapour / (total - vapour);
}

double vapour_pressure_pa(const AirState& air) {
  return std::clamp(air.relative_humidity, 0.0, 1.0) * saturation_pressure_pa(air.temperature_k);
}

}  // namespace

double saturation_pressure_pa(double temperature_k) {
  const double t = std::clamp(temperature_k, 230.0, 640.0);
  const double theta = t + kN[8] / (t - kN[9]);
  const double a = theta * theta + kN[0] * theta + kN[1];
  const double b = kN[2] * theta * theta + kN[3] * theta + kN[4];
  const double c = kN[5] * theta * theta + kN[6] * theta + kN[7];
  const double root = 2 * c / (-b + std::sqrt(b * b - 4 * a * c));
  return 1e6 * root * root * root * root;
}

double humidity_ratio(const AirState& air) {
  return ratio_of(vapour_pressure_pa(air), air.pressure_abs_pa);
}

double dry_density_kg_m3(const DryReference& reference) {
  return reference.pressure_abs_pa / (kGasConstantDryAir * reference.temperature_k);
}

double mixture_gas_constant(double ratio) {
  return (kGasConstantDryAir + ratio * kGasConstantVapour) / (1 + ratio);
}

}  // namespace endgate::analysis
