// Which one-body heating curve do these readings follow?  See analysis/duty_run.h, (1).

#pragma once

#include <optional>
#include <vector>

#include "analysis/duty.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

// Rise over the room while the motor was on, or off, all the time.
struct Stretch {
  bool on = false;
  std::vector<double> time_s;  // increasing
  std::vector<double> rise_k;  // same length
};

inline constexpr std::size_t kLeastSamples = 8;  // of a stretch that is used

struct HeatingFit {
  HeatingCurve curve;
  double misfit_k = 0;  // root mean square over all stretches, from the first reading on
};

// `stretches` in order of time.  Refuses with too_few_points, span_too_narrow, missing_step.
[[nodiscard]] Outcome<HeatingFit> fit_heating(const std::vector<Stretch>& stretches);

}  // namespace endgate::analysis
