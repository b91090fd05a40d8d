#include "analysis/fill_time.h"

#include <algorithm>
#include <cmath>

#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

constexpr double kGamma = 1.4;         // dry air
constexpr double kNearlyLevel = 1e-6;  // of the flow: the logarithm is replaced by its series

// integral dp / q over a stretch on which q is linear.
double stretch_s_pa_m3(double dp_pa, double q1, double q2) {
  const double relative = (q2 - q1) / q1;
  if (std::abs(relative) < kNearlyLevel) return dp_pa / q1 * (1 - relative / 2);
  return dp_pa / (q2 - q1) * std::log(q2 / q1);
}

double flow_between(const DrawnPoint& low, const DrawnPoint& high, double gauge_pa,
                    double u_times) {
  const double share = (gauge_pa - low.gauge_pa) / (high.gauge_pa - low.gauge_pa);
  return (1 - share) * (low.flow_m3_s + u_times * low.u_m3_s) +
         share * (high.flow_m3_s + u_times * high.u_m3_s);
}

std::optional<Refusal> refusal_of(std::span<const DrawnPoint> drawn, const FillVessel& vessel) {
  if (!(vessel.volume_m3 > 0) || !(vessel.to_gauge_pa > vessel.from_gauge_pa))
    return refused(RefusalKind::value_out_of_domain,
                   "a fill needs a volume and a pressure that rises");
  if (drawn.size() < 2 || drawn.front().gauge_pa > vessel.from_gauge_pa ||
      drawn.back().gauge_pa < vessel.to_gauge_pa)
    return refused(RefusalKind::outside_fitted_range, "the curve does not cover these pressures");
  for (std::size_t i = 0; i + 1 < drawn.size(); ++i) {
    if (drawn[i + 1].gauge_pa <= vessel.from_gauge_pa || drawn[i].gauge_pa >= vessel.to_gauge_pa)
      continue;
    if (drawn[i].extrapolated || drawn[i + 1].extrapolated)
      return refused(RefusalKind::outside_fitted_range, "the curve is extrapolated there");
    for (const DrawnPoint& point : {drawn[i], drawn[i + 1]})
      if (!(point.flow_m3_s > point.u_m3_s))
        return refused(RefusalKind::value_out_of_domain, "the unit delivers next to nothing there");
  }
  return std::nullopt;
}

// With the curve moved by so many of its u.
double isothermal_s(std::span<const DrawnPoint> drawn, const FillVessel& vessel, double inlet_pa,
                    double u_times) {
  double sum = 0;
  for (std::size_t i = 0; i + 1 < drawn.size(); ++i) {
    const double from = std::max(vessel.from_gauge_pa, drawn[i].gauge_pa);
    const double to = std::min(vessel.to_gauge_pa, drawn[i + 1].gauge_pa);
    if (!(to > from)) continue;
    sum += stretch_s_pa_m3(to - from, flow_between(drawn[i], drawn[i + 1], from, u_times),
                           flow_between(drawn[i], drawn[i + 1], to, u_times));
  }
  return vessel.volume_m3 / inlet_pa * sum;
}

}  // namespace

Outcome<FillTime> fill_time(std::span<const DrawnPoint> drawn, const FillVessel& vessel,
                            double inlet_pressure_abs_pa) {
  if (const std::optional<Refusal> refusal = refusal_of(drawn, vessel)) return *refusal;
  FillTime time;
  time.isothermal_s = isothermal_s(drawn, vessel, inlet_pressure_abs_pa, 0);
  time.adiabatic_s = time.isothermal_s / kGamma;
  const double by_curve = (isothermal_s(drawn, vessel, inlet_pressure_abs_pa, -1) -
                           isothermal_s(drawn, vessel, inlet_pressure_abs_pa, 1)) /
                          2;
  time.u_isothermal_s = std::hypot(by_curve, time.isothermal_s * vessel.u_volume_rel);
  return time;
}

}  // namespace endgate::analysis
