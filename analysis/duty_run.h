// How long may this unit run, and how much of its time, seen in a run of hours?
//
// The trace is that of a lab trial: stretches with the motor on and off, hours in all, one sample
// in seconds (a digest).  The node is head or case, whichever carries the cut-out.
//
// ESTIMATE  the lumped body of analysis/duty.h, as balances, so that noise is averaged and nothing
//           is differentiated: within every stretch, with I(t) the integral of the rise over the
//           room so far,
//
//   on    rise(t) = rise_0 + (D / tau_h) t - (1 / tau_h) I(t)                                   (1)
//   off   rise(t) = rise_0 - (1 / tau_c) I(t)
//
//   are linear in D / tau_h, 1 / tau_h, 1 / tau_c; rise_0 of each stretch is taken out by its
//   means.
//
// METRICS  for the room of the context's reference (inlet_temperature_k)
//
//   duty_peak_*   room + peak of the last turn + what (duty.h, 1) says that turns to come add  [K]
//   longest_on    from cold until the cut-out                                                 [s]
//   duty_factor   largest share of on time in cycles as long as those of the run              [1]
//   duty_cycle    that length                                                                 [s]
//
//   The cut-out is the upper limit on duty_peak_* of the context's limit set.
//
// UNCERTAINTY  u_T of a temperature: calibrations of node and room, and the root mean square by
//   which the one-body model run over the whole trial misses the readings; the others follow by
//   moving the limit by u_T.  A winding heats faster than its case: say in the trial file which
//   node carries the cut-out.
//
// REFUSES (missing metric with its reason): no head, case or room channel; fewer than kLeastSamples
//   in a stretch; no on time that tells heating from a straight line; no rest.
//
// Source: lumped-capacity theory; check values in tests/analysis/duty_run_test.cpp.

#pragma once

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

// Does the context ask for metrics of duty, and for none of a production test?
[[nodiscard]] bool asks_for_duty(const Context& context);

// As analysis/evaluate.h, for such a context.
[[nodiscard]] Evaluation evaluate_duty(const RawTrace& trace, const Context& context);

}  // namespace endgate::analysis
