// Which crank frequency do the lines of a current's spectrum belong to, and how sure is that?
//
// MODEL  A brush motor that drives a crank repeats itself every revolution: all its lines are at
//   whole multiples of the crank frequency N.  Some are expected (1 and 2 from the gas torque, M
//   and 2 M from the commutation, M +- 1 and M +- 2 from speed and torque within the revolution),
//   the others come from uneven commutator bars.  Any peak may also be noise, or a stranger.
//
// ESTIMATE  Every N of a fine grid is weighed by the ratio of the probability of what is found at
//   its multiples, if they are lines, to that if they are noise or strangers.  The evidence counts
//   by half (lines of one comb are not independent).  `probability` is the share of the best N,
//   within half a bin of the line M, among all N and "no line at all".
//
// RANGE  Speeds that hold still within about two bins of the line M.  Measured calibration:
//   analysis/README.md, "Speed without a tacho".

#pragma once

#include "analysis/ripple_expectation.h"
#include "analysis/ripple_spectrum.h"

namespace endgate::analysis {

struct RippleLock {
  double speed_rev_s = 0;
  double probability = 0;  // 0 ... 1
};

[[nodiscard]] RippleLock ripple_lock(const RippleSpectrum& spectrum,
                                     const RippleExpectation& expected);

}  // namespace endgate::analysis
