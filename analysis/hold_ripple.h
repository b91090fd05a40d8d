// What does the motor's current say about one hold: how fast, how even, how sure?
//
//   speed       mean over the bursts of the hold.  The daemon takes one at its beginning and one at
//               its end, so that an even drift cancels.
//   certainty   the least sure lock of them; 0 when the bursts of one hold differ by more than
//               kBurstsDiffer, which no steady unit does
//   imbalance, irregularity   means over the bursts (ripple_speed.h)
//
// u: of the records alone, independent from burst to burst.  That of the sample clock is shared by
// all holds and is a cause of its own (uncertainty_by_cause.h).
//
// CONTRACT  (tests/analysis/hold_ripple_test.cpp)
//   HR-1  What is missing is a Refusal with the reason, never a default: no waveform on the bench,
//         no commutation number of the model, no burst, a burst that ripple_speed refuses.
//   HR-2  `speed()`, `imbalance()` and `irregularity()` refuse below kSure.

#pragma once

#include <string>

#include "analysis/context.h"
#include "analysis/outcome.h"
#include "analysis/raw_trace.h"
#include "analysis/ripple_speed.h"

namespace endgate::analysis {

inline constexpr double kBurstsDiffer = 0.02;  // of the speed

struct WithU {
  double value = 0;
  double u = 0;  // standard
};

struct HoldRipple {
  WithU speed_rev_s;
  double lock_probability = 0;
  Outcome<WithU> imbalance_found = Refusal{RefusalKind::missing_step, "not evaluated", {}};
  Outcome<WithU> irregularity_found = Refusal{RefusalKind::missing_step, "not evaluated", {}};

  [[nodiscard]] bool sure() const { return lock_probability >= kSureLock; }
  [[nodiscard]] Outcome<WithU> speed() const;
  [[nodiscard]] Outcome<WithU> imbalance() const;
  [[nodiscard]] Outcome<WithU> irregularity() const;

 private:
  [[nodiscard]] Refusal not_sure() const;
};

[[nodiscard]] Outcome<HoldRipple> ripple_of_hold(const RawTrace& trace, const Context& context,
                                                 const StepMark& step);

}  // namespace endgate::analysis
