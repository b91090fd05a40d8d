// How far does each point of a calibration lie from its line?
//
// In display units.  The band is twice the u of the line as it will be accepted.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct ResidualSpot {
  double reading = 0, residual = 0;
  double expanded_u = 0;  // of the reference, whisker
};
struct ResidualBand {
  double reading = 0, half = 0;
};
struct ResidualChart {
  std::string description{}, reading_title{}, residual_title{};
  std::vector<ResidualSpot> spots{};
  std::vector<ResidualBand> band{};  // by rising reading
  double width = 900, height = 300;
};

[[nodiscard]] Node draw(const ResidualChart& chart);

}  // namespace endgate::reports
