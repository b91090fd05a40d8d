// Does it pay to watch this leak any longer?
//
// A short dwell for all, a long one only for the doubtful.  The leak is found as the evaluation finds
// it (analysis/leak_test.h), from block means instead of samples, with
//
//   u_r  random part of the fit, and every cause that a short dwell suffers from, turned by its own
//        u: gas at the start of the dwell and at the inlet, humidity, conductance and wall of the
//        receiver; cooling time of the housing, share of the case
//   u_s  what no dwell lowers: leak of the fixture, volume
//
// RULE   decided when for every limit on this leak, and on the same at the pressure of service (u_s then
// has the law of the leak in it, analysis/leak_law.h)
//
//   the outcome is certain by (1) of analysis/advise.h with the whole of u as if it were random, and
//   u <= kLeakShare (housing: kSealLeakShare) of the limit: a leak that is plainly small is still kept
//   with a useful u.  Both dwells run beside each other, so what one needs longer is free for the
//   other.
//
// cannot_decide when none is open, and one of them stays undecided by (2) there.  Otherwise keep_on;
// also whenever anything it needs is missing.  Then the step lasts as long as the
// model file says.

#pragma once

#include "analysis/advise.h"

namespace endgate::analysis {

inline constexpr double kLeakShare = 0.08;
inline constexpr double kSealLeakShare = 0.08;

[[nodiscard]] bool is_leak(StepKind kind);
[[nodiscard]] AdviceKind advise_leak(const StepSums& sums, const Context& context);

// The leak of the step as a look sees it [m3/s]; nothing where it cannot be found yet.
[[nodiscard]] std::optional<Standpoint> leak_standpoint(const StepSums& sums,
                                                        const Context& context);

}  // namespace endgate::analysis
