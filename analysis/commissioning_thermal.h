// How does a model's performance move while a unit warms up, and how do its leak tests start?
//
// WARM RUN    one pressure held from cold for a minute, in many short holds, in a cold room and in
// a
//             warm one: while a unit warms up its winding runs ahead of its case, on a warm day it
//             does not, and a test meets both
//
//   ln N = a + k_speed T_case ,  ln I = a' + k_current T_case ,  ln (q/N) = a'' + k_flow (T_head -
//   T_inlet) (1)
//
//   at reference voltage and barometer (analysis/reference_conditions.h, its thermal part left
//   out).  Each run (unit, pressure) has its own level; the slopes are averaged over the runs, and
//   their scatter is the u of a correction: the next unit is another one.  Flow per case is the
//   slope of speed: at the same filling a faster crank delivers in proportion.
//
// SEAL        the same unit's housing, cold and after its run:
//
//   share = (C_cold - C_warm) / (p/T dT_case/dt)                                                (2)
//
//   C loss of pressure as measured with share 0 in both, so that unit and fixture leak cancel.
//
// Only readings of the bench go in.  Refuses with too_few_points below two runs or three holds,
// span_too_narrow when nothing warmed up.

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

// One unit at one pressure; the second room may be missing.
struct WarmRun {
  const Survey* cold_room = nullptr;
  const Survey* warm_room = nullptr;
};
struct WarmRunLearnt {
  Spread speed_per_case_k;
  Spread current_per_case_k;
  Spread flow_per_turn_per_head_k;
};
[[nodiscard]] Outcome<WarmRunLearnt> learn_warm_run(std::span<const WarmRun> runs);

struct SealPair {
  const Survey* cold = nullptr;
  const Survey* warm = nullptr;
};
[[nodiscard]] Outcome<Spread> learn_seal_case_share(std::span<const SealPair> units);

}  // namespace endgate::analysis
