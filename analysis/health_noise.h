// Is a channel noisier than its noise model allows, where no unit can make noise?
//
// WHERE   channels that the unit shakes (discharge pressure, flow, voltage, current, speed): at
//         rest, in the zero step and in the back leak from a second after its valve shut.  Seal
//         pressure: in the zero step.  Barometer, humidity and temperatures: the whole test.
//
// RULE    S = mean (y_(i-1) - 2 y_i + y_(i+1))^2 ,   E = s^2 (6 - 8 r + 2 r^2) + step^2 / 2
//
//   s, r    stated noise of a sample, and its correlation from one sample to the next
//   step    of the count
//
//   Second differences do not see level, ramp or slow wander.  noisy:  S > kNoisy^2 E  over at
//   least kNoisyCount samples.  Noise below that widens u (analysis/window_moments.h) and is no
//   finding.
//
// Not seen: noise that only shows while the motor runs.

#pragma once

#include "analysis/accusation.h"

namespace endgate::analysis {

inline constexpr double kNoisy = 5;
inline constexpr std::size_t kNoisyCount = 20;

// sqrt(S / E); 0 when there are too few samples.
[[nodiscard]] double excess_noise(const Column& column, const Window& window,
                                  const SampleNoise& noise);

[[nodiscard]] MaybeAccusation noisy(Role role, const Samples& samples, const RawTrace& trace);

}  // namespace endgate::analysis
