// What would the same leak let through between other pressures, when nobody knows its law?
//
//   laminar   q ~ p1^2 - p2^2                       capillary, scratch, closed reed: Hagen-Poiseuille
//   orifice   q ~ p1 psi(p2/p1)                     hole, edge: de Saint-Venant and Wantzel
//             psi(x)^2 = x^(2/k) - x^((k+1)/k), x at least (2/(k+1))^(k/(k-1)): it chokes there
//
//   f = (f_laminar + f_orifice) / 2 ,   u(f) = (f_laminar - f_orifice) / (2 sqrt 3)               (1)
//
//   f: flow there over flow here, p1 inside, p2 outside, absolute; k = 1.4, same gas and temperature.
//   A real leak lies between the two laws; anywhere between counts as equally likely (JCGM 100,
//   4.3.7).  u keeps the sign: upwards the laminar law is the larger one, downwards the orifice, so of
//   a leak carried there and back what the law does to it cancels.  From 600 to 800 kPa gauge that is 1.48, u 0.11; from a dwell some kilopascal beside its
//   target it is some tenths of a per cent.
//
// Refuses with value_out_of_domain unless p1 > p2 > 0 and finite on both sides.

#pragma once

#include "analysis/outcome.h"

namespace endgate::analysis {

struct LeakPressures {
  double inside_abs_pa = 0;
  double outside_abs_pa = 0;
};

// Of flow between other pressures to flow here, > 0.
struct LeakScale {
  double factor = 1;
  double u = 0;  // standard, the law not being known; signed: towards the laminar one
};

[[nodiscard]] double laminar_ratio(const LeakPressures& from, const LeakPressures& to);
[[nodiscard]] double orifice_ratio(const LeakPressures& from, const LeakPressures& to);
[[nodiscard]] Outcome<LeakScale> leak_scale(const LeakPressures& from, const LeakPressures& to);

// From gauge pressure, over the same outside.
[[nodiscard]] constexpr LeakPressures over(double outside_abs_pa, double gauge_pa) {
  return {outside_abs_pa + gauge_pa, outside_abs_pa};
}

}  // namespace endgate::analysis
