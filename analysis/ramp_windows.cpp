#include "analysis/ramp_windows.h"

#include <algorithm>

namespace endgate::analysis {

std::vector<RampStretch> ramp_stretches(const GasReadings& gas, const Window& rise) {
  const IndexRange range = inside(gas.time_s, rise);
  const auto begin = gas.gauge_pa.begin() + static_cast<std::ptrdiff_t>(range.first);
  const auto end = gas.gauge_pa.begin() + static_cast<std::ptrdiff_t>(range.last);
  const auto first_above = [&](double gauge_pa) {
    return std::find_if(begin, end, [&](double value) { return value >= gauge_pa; });
  };
  std::vector<RampStretch> stretches;
  if (begin == end) return stretches;
  const double top = std::min(kRampTop_pa, *std::max_element(begin, end));
  for (double low_pa = kRampWidth_pa / 2; top - low_pa >= kLeastLast * kRampWidth_pa;
       low_pa += kRampWidth_pa) {
    const double high_pa = std::min(top, low_pa + kRampWidth_pa);
    const auto low = first_above(low_pa);
    const auto high = first_above(high_pa);
    if (high - low < static_cast<std::ptrdiff_t>(kLeastRampSamples)) continue;
    const auto at = [&](auto sample) {
      return gas.time_s[static_cast<std::size_t>(sample - gas.gauge_pa.begin())];
    };
    stretches.push_back({(low_pa + high_pa) / 2, {at(low), at(high)}});
  }
  return stretches;
}

}  // namespace endgate::analysis
