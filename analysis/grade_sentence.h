// How is a reason said to a person?  One plain sentence, at most twenty words.
//
//   GS-1  A limit's sentence names metric, value, U (k = 2), limit and guard band:
//         "Flow at 400 kPa is 42.1 ± 0.6 L/min, 1.9 L/min below its limit of 44.0 L/min (guard
//         band 0.5 L/min)."
//   GS-2  Numbers follow analysis/say_number.h; a value never reads as being on a bound that it
//         missed, nor on the other side of an acceptance limit.

#pragma once

#include <string>
#include <string_view>

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/grade_limit.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

inline constexpr double kSaidCoverage = 2;  // U = 2 u

[[nodiscard]] std::string sentence_of(const Metric& metric, const HeldLimit& held);

[[nodiscard]] std::string sentence_of(const BenchFacts& bench, const ChannelHealth& health);

[[nodiscard]] std::string sentence_of(const BenchFacts& bench, const Trip& trip, bool confirmed);

[[nodiscard]] std::string sentence_of_break_off(const RawTrace& trace);

}  // namespace endgate::analysis
