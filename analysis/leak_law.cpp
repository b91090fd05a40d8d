#include "analysis/leak_law.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "analysis/pressure_decay.h"
#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

constexpr double kIsentropic = 1.4;  // k of air

double orifice_driving_pa(const LeakPressures& at) {
  const double k = kIsentropic;
  const double choked = std::pow(2 / (k + 1), k / (k - 1));
  const double x = std::max(choked, at.outside_abs_pa / at.inside_abs_pa);
  const double square = std::pow(x, 2 / k) - std::pow(x, (k + 1) / k);
  return at.inside_abs_pa * std::sqrt(std::max(0.0, square));
}

double laminar_driving(const LeakPressures& at) {
  return laminar_driving_pa2(at.inside_abs_pa - at.outside_abs_pa, at.outside_abs_pa);
}

bool drives(const LeakPressures& at) {
  return std::isfinite(at.inside_abs_pa) && at.outside_abs_pa > 0 &&
         at.inside_abs_pa > at.outside_abs_pa;
}

}  // namespace

double laminar_ratio(const LeakPressures& from, const LeakPressures& to) {
  return laminar_driving(to) / laminar_driving(from);
}

double orifice_ratio(const LeakPressures& from, const LeakPressures& to) {
  return orifice_driving_pa(to) / orifice_driving_pa(from);
}

Outcome<LeakScale> leak_scale(const LeakPressures& from, const LeakPressures& to) {
  if (!drives(from) || !drives(to))
    return out_of_domain("nothing drives the leak: no pressure above the outside");
  const double laminar = laminar_ratio(from, to);
  const double orifice = orifice_ratio(from, to);
  return LeakScale{(laminar + orifice) / 2, (laminar - orifice) / (2 * std::numbers::sqrt3)};
}

}  // namespace endgate::analysis
