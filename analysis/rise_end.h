// Does a rise arrive where the hold it leads to stands?
//
// The last stretch of a rise and the hold it leads to show the same unit at nearly the same load,
// one on the way and one at rest.  With y and p of the stretch followed along their own slopes to the
// pressure of the hold,
//
//   gap = y_hold - ( y + y' (p_hold - p)/p' )                                             (1)
//
// is 0 for a channel that is late by its stated lag and no more.  A channel later by d against the
// pressure leaves  gap = d y';  warming between the two moments leaves a little too.
//
// A gap too large to be anything but lateness accuses a channel (analysis/health_timing.h).  The gap
// of current and speed is taken off the whole rise, in proportion to the slope of each stretch and
// beside the type unit instead of along straight lines (analysis/carried_holds.h): the hold decides
// the level, the rise the shape.

#pragma once

#include <cstddef>
#include <optional>

#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kLeadsTo_pa = 100e3;  // between stretch and hold, at most

// Indices in Survey::holds.
struct RiseEnd {
  std::size_t before = 0;   // the stretch before the last
  std::size_t stretch = 0;  // the last
  std::size_t hold = 0;
};

// Nothing where the rise has fewer than two stretches or no complete hold stands where it ends.
[[nodiscard]] std::optional<RiseEnd> rise_end(const Survey& survey);

// A quantity on its way beside the pressure, and the one at rest.
struct OnTheWay {
  double level = 0;
  double slope_s = 0;  // per second
  double gauge_pa = 0;
  double gauge_slope_pa_s = 0;  // > 0
};
struct AtRest {
  double level = 0;
  double gauge_pa = 0;
};

// (1), in the unit of the level.
[[nodiscard]] double gap_of(const OnTheWay& rise, const AtRest& hold);

}  // namespace endgate::analysis
