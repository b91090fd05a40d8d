#include "analysis/ramp_windows.h"

#include <algorithm>

namespace endgate::analysis {

std::vector<RampStretch> ramp_stretches(const GasReadings& gas, const Window& pump_up) {
  const IndexRange range = inside(gas.time_s, pump_up);
  const auto begin = gas.gauge_pa.begin() + static_cast<std::ptrdiff_t>(range.first);
  const auto end = gas.gauge_pa.begin() + static_cast<std::ptrdiff_t>(range.last);
  const auto first_above = [&](double gauge_pa) {
    return std::find_if(begin, end, [&](double value) { return value >= gauge_pa; });
  };
  std::vector<RampStretch> stretches;
  for (double middle = kRampWidth_pa;; middle += kRampWidth_pa) {
    const auto low = first_above(middle - kRampWidth_pa / 2);
    const auto high = first_above(middle + kRampWidth_pa / 2);
    if (high == end) return stretches;
    if (high - low < static_cast<std::ptrdiff_t>(kLeastRampSamples)) continue;
    const auto at = [&](auto sample) {
      return gas.time_s[static_cast<std::size_t>(sample - gas.gauge_pa.begin())];
    };
    stretches.push_back({middle, {at(low), at(high)}});
  }
}

}  // namespace endgate::analysis
