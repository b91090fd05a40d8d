// Flow over pressure inside its limit band: the face of a unit.
//
// Numbers come in display units (kPa gauge, L/min).  Any part may be missing: no band, no curve
// yet, a curve that stops.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct BandSpot {
  double pressure = 0;
  std::optional<double> lower{}, upper{};
  double guard = 0;  // acceptance limit = lower + guard; 0: not known
};
struct CurveSpot {
  double pressure = 0, flow = 0;
  double expanded_u = 0;
  bool extrapolated = false;
};
struct MeasuredSpot {
  double pressure = 0, flow = 0;
  double expanded_u = 0;
  bool decides = false;  // wears the ring
};
struct OtherCurve {
  std::string name{};
  bool birth = false;
  std::vector<CurveSpot> spots{};
};

struct CurveChart {
  std::string description{};             // one sentence, also for a screen reader
  std::string unit_label = "this unit";  // at the end of the curve; empty: not said
  std::vector<BandSpot> band{};
  std::vector<CurveSpot> curve{};
  std::vector<MeasuredSpot> points{};
  std::vector<OtherCurve> others{};
  bool stops = false;  // a post at the end of the curve: the test was broken off
  double width = 800, height = 360;
};

[[nodiscard]] Node draw(const CurveChart& chart);

// The same numbers as a table.
[[nodiscard]] Node table_of(const CurveChart& chart);

}  // namespace endgate::reports
