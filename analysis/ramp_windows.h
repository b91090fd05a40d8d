// Which stretches of a rise say what the unit delivers at which pressure?
//
// In a pump-up (outlet shut) or a ramp (outlet open, set point climbing) the pressure goes through
// every pressure of the curve.  The rise is cut into stretches of kRampWidth_pa around the multiples
// of it, the last one ending with the rise if it is at least kLeastLast of that wide.  Each becomes a
// point of the curve, its flow from the balance of analysis/receiver_gas.h.  Below the first stretch
// nothing is used: there an outlet is still closing, and the gas still at rest.
//
// A stretch counts from the first sample above its lower bound to the first above its upper one.

#pragma once

#include <vector>

#include "analysis/receiver_gas.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

// The first set point of a ramp, before it climbs: a recorded run knows the beginning by it.
inline constexpr double kRampBegins_pa = 2000;
inline constexpr double kRampWidth_pa = 200e3;
inline constexpr double kRampTop_pa = 3e6;  // no unit goes there, a spoilt sensor may
inline constexpr double kLeastLast = 0.2;
inline constexpr std::size_t kLeastRampSamples = 8;  // fewer give no stretch

struct RampStretch {
  double middle_gauge_pa = 0;
  Window window;  // seconds of the test
};

[[nodiscard]] std::vector<RampStretch> ramp_stretches(const GasReadings& gas, const Window& rise);

}  // namespace endgate::analysis
