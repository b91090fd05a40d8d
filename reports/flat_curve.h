// A unit in one small line: its curve as a fraction of the limit band, laid level.
//
// The lower limit is the strong line below, the upper one the thin line above; a failing unit dips
// through the line, a void one stops at a post.

#pragma once

#include <string>
#include <vector>

#include "reports/curve_chart.h"
#include "reports/node.h"

namespace endgate::reports {

struct FlatCurve {
  std::vector<BandSpot> band{};
  std::vector<CurveSpot> curve{};
  bool stops = false;
  std::string description{};
};

// Where in the band (0 lower, 1 upper limit) each spot lies; spots beyond the band's pressures and
// bands without a lower limit give nothing.  Without an upper limit 1 is half above the lower.
[[nodiscard]] std::vector<CurveSpot> laid_flat(const FlatCurve& flat);

[[nodiscard]] Node draw(const FlatCurve& flat);

}  // namespace endgate::reports
