// On which side of its limits is this unit, and how sure are we?
//
// RULE for one limit, y the metric with standard uncertainty u
//
//   w  = pass_factor * u    guard band inside the limit;  0 without guard rule
//   w' = fail_factor * u    guard band outside it
//
//   lower limit T:  pass at y >= T + w,  else fail at y < T - w',  else undecided
//   upper limit T:  pass at y <= T - w,  else fail at y > T + w',  else undecided
//
//   At w = 1.645 u a unit that lies exactly on its limit passes in 5 % of tests (simulated in
//   tests/analysis/judge_risk_test.cpp), and fails in 5 % at w' = 1.645 u.
//
// RULE for the test, the first that applies
//
//   void       the test was broken off; a trip accuses the bench, or accuses the unit without a
//              confirmed second witness; a channel that a graded metric rests on was sick
//   fail       a confirmed trip accuses the unit; a reject limit is certainly broken
//   undecided  a reject limit is undecided or its metric has no value; the points contradict the
//              curve that a graded metric rests on; there is no reject limit
//   pass       every reject limit passed
//
//   "Graded" are the metrics named by reject limits.  What each rests on:
//   analysis/grade_rests_on.h.  Codes: analysis/reason_codes.h.
//
//   A unit that stands still gives constant readings: beside a confirmed trip that accuses the
//   unit, a stuck channel is not sick, else a unit that never starts could never fail.
//
// CONTRACT  (tests/analysis/judge_grade_test.cpp, judge_verdict_test.cpp)
//
//   G-1  The bound itself passes: y = T + w passes, y = T - w' is undecided.
//   G-2  Values are compared in full precision; how they are shown changes no verdict.
//   G-3  If a relaxed (negative) band makes pass and fail overlap (w + w' < 0), both become T + w.
//   G-4  With both limits and no room between their acceptance limits nothing passes: what is
//        certainly outside fails, all else is undecided and says so (no_room).
//   G-5  A warn limit never changes a verdict; its outcome is listed.
//   G-6  A missing, NaN or infinite value is metric_missing; a value without u under a guard rule
//        is undecided (no_uncertainty), never a pass.
//   G-7  Reasons: those of the verdict first, the deciding one before all: what broke the test
//        off, then trips, then the limit furthest beyond or nearest to its bound in units of u.
//        A void lists only why it is void, a fail no missing metrics; `limits` lists everything.
//   G-8  A void says what would have failed among the metrics whose channels were healthy, so
//        that stopping a test cannot launder a bad unit.
//   G-9  Nothing throws except std::bad_alloc.
//   G-10 A limit on the curve or on a relation (analysis/limit_subject.h) follows the same rules; a
//        band of the curve is as its worst point.
//   G-11 A class labels a pass and nothing else: of the set's classes the first whose limits all
//        pass.  What rests on a sick channel or a doubtful curve reaches no class.

#pragma once

#include <optional>
#include <span>

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

[[nodiscard]] LimitOutcome hold_against(const Metric& metric, const Limit& limit);

// What a test measured.  `metrics` in any order; one that a limit names and that is not among them
// is missing.
struct Measurement {
  std::span<const ChannelHealth> health;
  const std::optional<Curve>& curve;
  std::span<const Metric> metrics;
  std::span<const DrawnPoint> drawn;
};

[[nodiscard]] Grade grade(const Context& context, const RawTrace& trace,
                          const Measurement& measured);

}  // namespace endgate::analysis
