// How far does the gas in the housing follow the case?  And what is the scatter of what was
// learned?
//
// SEAL        the same unit's housing, cold and after its run:
//
//   share = (C_cold - C_warm) / (p/T dT_case/dt)                                                (2)
//
//   C loss of pressure as measured with share 0 in both, so that unit and fixture leak cancel.
//
// Only readings of the bench go in.  Refuses with too_few_points below two units, span_too_narrow
// when nothing warmed up.

#pragma once

#include <span>

#include "analysis/outcome.h"
#include "analysis/survey.h"

namespace endgate::analysis {

// Mean over runs and the standard deviation from run to run.
struct Spread {
  double mean = 0;
  double sd = 0;

  // Of the same quantity on the next unit, for so many runs.
  [[nodiscard]] double u_next(std::size_t runs) const;
};
[[nodiscard]] Outcome<Spread> spread_of(std::span<const double> values);

struct SealPair {
  const Survey* cold = nullptr;
  const Survey* warm = nullptr;
};
[[nodiscard]] Outcome<Spread> learn_seal_case_share(std::span<const SealPair> units);

}  // namespace endgate::analysis
