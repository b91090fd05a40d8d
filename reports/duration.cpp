#include "reports/duration.h"

#include <cmath>

#include "reports/number.h"

namespace endgate::reports {

Duration duration(double seconds) {
  constexpr double kMinute = 60, kHour = 3600;
  if (std::ceil(seconds) < 1000) return {fixed(std::ceil(seconds), 0), "s"};
  if (seconds <= 99 * kMinute) return {fixed(std::ceil(seconds / kMinute), 0), "min"};
  return {fixed(std::ceil(seconds / kHour), 0), "h"};
}

std::string duration_text(double seconds) {
  const Duration written = duration(seconds);
  return written.number + kNoBreak + written.unit;
}

}  // namespace endgate::reports
