#include "analysis/half_difference.h"

#include <cmath>

namespace endgate::analysis {

double half_difference(double low, double here, double high) {
  if (std::isfinite(low) && std::isfinite(high)) return (high - low) / 2;
  if (std::isfinite(high) && std::isfinite(here)) return high - here;
  if (std::isfinite(low) && std::isfinite(here)) return here - low;
  return 0;
}

}  // namespace endgate::analysis
