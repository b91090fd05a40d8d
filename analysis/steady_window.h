// Which stretch of a hold is steady, and if none is, why not?
//
// RULE
//
//   The window runs from settle_s after the set point was reached to the end of the step, in whole
//   turns of the crank.  It is steady when
//
//     (|slope| + 2 se(slope)) length  <=  max( max_drift_rel |mean|, 6 se(slope) length )     (1)
//
//   slope   of the inflow without its storage term (z of analysis/receiver_gas.h): what the unit
//           delivers, freed from the cooling of the gas, which the metered flow still shows
//   se      from the channel's noise model; a window's own scatter taken as white calls steady
//           samples moving in two cases of three
//   second term of (1): a slope below four se is no finding when noise alone nears the limit; the
//   scatter it leaves is in u
//
//   If the whole stretch drifts, its later parts are tried down to min_window_s.  Slow warming of
//   the unit is no unsteadiness: it is corrected (analysis/reference_conditions.h).
//
// Refuses with missing_step (never reached, too short) or not_steady, in words for a person.

#pragma once

#include <vector>

#include "analysis/context.h"
#include "analysis/outcome.h"
#include "analysis/raw_trace.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

// The stretch that the settling time leaves.
[[nodiscard]] Outcome<Window> settled_stretch(const StepMark& step, std::int64_t origin_us,
                                              const SteadyRule& rule);

// Shortened to whole turns of the crank; unchanged when the speed is not known.
[[nodiscard]] Window whole_turns(const Window& window, double speed_rev_s);

struct Drift {
  double relative = 0;  // slope length / |mean|
  double bound = 0;     // left side of (1) / |mean|
  double allowed = 0;   // right side of (1) / |mean|
  [[nodiscard]] bool steady() const { return bound <= allowed; }
};
[[nodiscard]] Drift drift_of(const Moments& inflow, const Window& window, const SteadyRule& rule);

struct SteadyStretch {
  Window window;
  double drift_rel = 0;
};
// `inflow` is z over the time of the test; `noise` that of the flow channel, in kg/s.
[[nodiscard]] Outcome<SteadyStretch> steady_stretch(const Window& settled, const Column& inflow,
                                                    const SampleNoise& noise,
                                                    const SteadyRule& rule);

}  // namespace endgate::analysis
