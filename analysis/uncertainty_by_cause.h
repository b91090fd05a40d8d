// How well are curve and metrics known, and through which cause?
//
// In these runs the parameters of the curve move as the free ones do (Plan::from_free): a leak of
// the curve at its bound of 0 is not known exactly, and neither is a dead head that rests on it.
//
// Every knob is turned by its standard uncertainty, up and down, and the chain is run again; half
// the difference is the part of u by that knob (JCGM 100, 5.1.3 note 2).  Knobs of one cause are
// independent of each other: their parts are joined by root sum of squares and carry the sign of
// the largest, so that a cause shared by two metrics or two tests keeps its direction.
//
//   "random"                          noise of every hold and of the zeros, of the leak dwells
//   "calibration north@1/flow"        gain and offset of a channel (the zeroed ones: gain only)
//   "constants north@1"               volume and conductance of receivers, housing, fixture leaks
//   "correction thermal"              thermal coefficients, share of the head in the inlet gas, of
//                                     the case in the housing
//   "correction reference"            steps in voltage and barometer
//   "model"                           what the form of the curve cannot follow (kFormRel, less the
//                                     share that the holds show, and the scatter beyond it when
//                                     chi2 passes its 95 % point); gas temperature at the start of
//                                     the back leak; the law of each leak (analysis/leak_law.h);
//                                     lag of the voltage and moment of the relay in the run-down,
//                                     temperature of the winding, current at 0 kPa
//                                     (analysis/motor_constants.h)
//
//   u = root of the sum of the squares of all parts.
//
// ERRS ON THE WIDE SIDE, knowingly:
//
//   specific_energy_400   from a rise, of one-cylinder models: over a stretch that rises the crank's
//                         ripple does not average out as over whole turns at rest, and the gap to
//                         the hold (rise_end.h) carries it to every stretch
//   dead_head                          some three times beyond the last hold: there the form's
//                                      misses at the holds, taken as independent of each other,
//                                      count in full
//
// Leaks rest on constants that a bench and a model have learned once (conductance, wall, water,
// share of the case): over tests under the same constants they scatter by half their u, over fresh
// draws of them by all of it.

#pragma once

#include <array>
#include <string>
#include <vector>

#include "analysis/conclusion.h"
#include "analysis/evaluation.h"
#include "analysis/measured.h"
#include "analysis/survey.h"

namespace endgate::analysis {

// One number per metric, then one per drawn point.
using Numbers = std::array<double, kMetrics.size() + kDrawn>;

struct CausePart {
  std::string cause;
  Numbers u{};  // signed
};

// What the causes are applied to.
struct Chain {
  const Survey& survey;
  const Plan& plan;
  const Measured& measured;
  const Conclusion& conclusion;
};
[[nodiscard]] std::vector<CausePart> parts_by_cause(const Chain& chain);

// Weights of the fit: what differs from hold to hold (analysis/conclusion.h, WEIGHTS).
void weigh(const Survey& survey, const Measured& measured, Plan& plan);

}  // namespace endgate::analysis
