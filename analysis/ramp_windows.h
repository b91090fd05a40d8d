// Which stretches of a pump-up say what the unit delivers at which pressure?
//
// While the outlet is shut the pressure rises through every pressure of the curve.  The rise is cut
// into stretches of kRampWidth_pa around the multiples of it that lie wholly inside; each becomes a
// point of the curve, its flow from the balance of analysis/receiver_gas.h.  Below the first stretch
// nothing is used: there the outlet is still closing and the gas still at rest.
//
// A stretch counts from the first sample above its lower bound to the first above its upper one.

#pragma once

#include <vector>

#include "analysis/receiver_gas.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

inline constexpr double kRampWidth_pa = 200e3;
inline constexpr std::size_t kLeastRampSamples = 8;  // fewer give no stretch

struct RampStretch {
  double middle_gauge_pa = 0;
  Window window;  // seconds of the test
};

[[nodiscard]] std::vector<RampStretch> ramp_stretches(const GasReadings& gas,
                                                      const Window& pump_up);

}  // namespace endgate::analysis
