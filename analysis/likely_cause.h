// Which part is it likely to be, and what says so?
//
// PROBABILITY  (hypotheses k: analysis/cause_hypotheses.h)
//
//   P(k) ~ prior_k  sum_s w_s t(y; shift_k(s), C(s)) P(sign | k, s)                            (1)
//
//   t: Student's density with as many degrees of freedom as units taught the scatter.
//
//   The severity s is never negative and is summed over, not fitted: a cause that can look like
//   anything pays for it.  One cause a unit; two at once end as `unexplained` unless one of them
//   says nearly all.  P(sign): kSignAgrees when the trip is the learned one, kSignDiffers else.
//
// UNEXPLAINED  weighs as much as the best cause would if its misfit were the 99.9 % point of T2:
//   a cause explains while chance makes such a misfit once in a thousand units, beyond that
//   `unexplained` takes over.  Readings that exist in no table cannot be told.
//
// GROUPS  Two causes that lie less than kApart standard deviations apart at the severity that fits
//   best cannot be told apart by this test (one in six would be taken for the other); they are
//   named together, with what would separate them, and their probabilities added.
//
// CONTRACT  (tests/analysis/cause_*_test.cpp, tests/history/causes_test.cpp)
//
//   LC-1  Asked only where a limit (reject or warn) is broken or a trip ended the test; else and
//         without a table: nothing.
//   LC-2  Probabilities are above 0 and sum to at most 1; groups come likeliest first, those below
//         kLeastShown are not listed.
//   LC-3  No verdict, metric or curve depends on it.
//   LC-4  Any readings, absurd ones too, give finite probabilities; nothing throws but bad_alloc.

#pragma once

#include <vector>

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

[[nodiscard]] std::vector<LikelyCause> likely_causes(const RawTrace& trace, const Context& context,
                                                     const Evaluation& evaluation);

}  // namespace endgate::analysis
