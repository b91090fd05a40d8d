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
//   The mean leaves the largest kOfOneJump out where asked to: one jump is no noise
//   (analysis/health_jump.h).  Second differences do not see level, ramp or slow wander.  noisy:  S > kNoisy^2 E  over at
//   least kNoisyCount samples.  Noise below that widens u (analysis/window_moments.h) and is no
//   finding.
//
// BURST   The same channels while the motor runs: a stretch of the holds whose root of S is more than
//         kBurst times that of the middle one.  A unit shakes all the time; what comes for a moment is
//         a contact.
//
// Not seen: noise that only shows while the motor runs, and shows all the time.

#pragma once

#include "analysis/accusation.h"

namespace endgate::analysis {

inline constexpr double kNoisy = 5;
inline constexpr std::size_t kNoisyCount = 20;
inline constexpr std::size_t kOfOneJump = 4;
inline constexpr double kBurst = 6;

// WHERE a channel shows its noise and nothing else.
[[nodiscard]] std::vector<Window> noise_windows(Role role, const RawTrace& trace);

// sqrt(S / E); 0 when there are too few samples.
[[nodiscard]] double excess_noise(const Column& column, const Window& window,
                                  const SampleNoise& noise, std::size_t leave_out);

[[nodiscard]] MaybeAccusation bursting(Role role, const Samples& samples, const RawTrace& trace);
[[nodiscard]] MaybeAccusation noisy(Role role, const Samples& samples, const RawTrace& trace,
                                    std::size_t leave_out);

}  // namespace endgate::analysis
