// Does a channel move as finely and as often as its noise must make it move?
//
// A live sensor whose noise spans its counts does not repeat one count for long, and uses every
// count.  Steps in which the channel matters (analysis/channel_health.h), whether the motor runs or
// not.
//
//   stuck   one raw value, from the first of these steps to the last, for longer than
//           ln(kDullChance) / ln(p)  correlation times (at least as many samples),
//           p = erf( step / (2 sqrt2 sigma) ): chance of an independent sample to fall into
//           the likeliest count
//   stuck   all raw values of the test are multiples of one step (less a common one) of more than
//           kCoarse times noise and count: low bits are lost
//   stuck   consecutive samples differ in less than kLively of the cases that noise alone makes:
//           1 - P,  P = erf(1/(s sqrt2)) - s sqrt(2/pi) (1 - exp(-1/(2 s^2))),  s = standard
//           deviation of the difference of two consecutive samples over the step
//   stuck   the head shows one value for longer than  kRest max(noise, step) T/W  and kLeastRest_s of a
//           run of T seconds in which it warms by W, if W is large beside noise and step
//   silent, no_value   more than kLostShare of the samples of a step are missing, at least kLeastLost:
//           what is left has holes in which a crank's ripple no longer averages out
//
//   Only for counts, and only where  sigma >= step / 2: a channel quieter than its counts may rest,
//   and stuck_after_s of the bench file speaks for it.

#pragma once

#include "analysis/accusation.h"

namespace endgate::analysis {

inline constexpr double kDullChance = 1e-8;
inline constexpr double kCoarse = 4;
inline constexpr double kLively = 0.15;
inline constexpr double kRest = 10;
inline constexpr double kLeastRest_s = 2.5;
inline constexpr double kLostShare = 0.15;
inline constexpr std::ptrdiff_t kLeastLost = 6;

// How long one count may be repeated; missing where the noise says nothing.
[[nodiscard]] std::optional<double> longest_repeat_s(const ChannelFacts& facts, double step_si);

[[nodiscard]] MaybeAccusation dull(Role role, const Samples& samples, const RawTrace& trace);

}  // namespace endgate::analysis
