// How long does this unit take to fill a vessel or a tyre from one pressure to another?
//
// MODEL
//
//   isothermal   t = V / p_a  integral dp / q(p)        the vessel gives its heat away at once (1)
//   adiabatic    t = isothermal / gamma                 it keeps all of it; the pressure falls
//                                                       again while it cools (2)
//
//     V    volume of the vessel, hose included                  [m3]
//     q    free-air delivery at reference conditions, as drawn  [m3/s], linear between its points,
//          so that each stretch integrates in closed form: dp / (q2 - q1) ln(q2 / q1)
//     p_a  reference inlet pressure                             [Pa abs]
//
//   Gas enters at the temperature of the vessel; a warm delivery shortens (2) further.  Real fills
//   lie between the two, a tyre filled in a minute nearer to the adiabatic one.  Speed as on the
//   bench: nominal voltage at the unit's terminals, which a long cable does not give.
//
// UNCERTAINTY  Most of u of a drawn point is calibration, common to all of them: the whole curve is
//   moved by its u (the safe side for the random part), and the volume by its own.
//
// REFUSES  pressures that do not rise, a volume that is not above 0 (value_out_of_domain); a
//   stretch that the curve does not cover, or covers by extrapolation (outside_fitted_range); a
//   unit that delivers nothing there (value_out_of_domain).
//
// Source: gas law, worked in closed form; check values in tests/analysis/cause_fill_time_test.cpp.

#pragma once

#include <span>

#include "analysis/evaluation.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

struct FillVessel {
  double volume_m3 = 0;
  double u_volume_rel = 0;
  double from_gauge_pa = 0;
  double to_gauge_pa = 0;
};

struct FillTime {
  double isothermal_s = 0;
  double adiabatic_s = 0;
  double u_isothermal_s = 0;  // standard
};

[[nodiscard]] Outcome<FillTime> fill_time(std::span<const DrawnPoint> drawn,
                                          const FillVessel& vessel, double inlet_pressure_abs_pa);

}  // namespace endgate::analysis
