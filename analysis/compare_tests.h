// How does a later test of a unit differ from its birth test, and is that more than chance?
//
//   d      = later - birth                                        per metric, SI
//   u_d^2  = sum over causes (u_later,c - u_birth,c)^2            causes by name, signed
//          + own^2 of either test
//   E_n    = d / (2 u_d)                                          ISO 13528, k = 2
//
// A cause of the same name in both tests ("calibration north@1/flow") moved both the same way, so
// only the difference of its two parts is left; a bench that was calibrated anew in between has
// another name and cancels nothing.  "random", "model" and what no cause explains belong to one
// test alone: that the form of the curve errs alike in a worn unit cannot be known.
//
// What the benches read differently is no cause of either test.  Where it is known from elsewhere
// (daemon/queries/bench_between.h), take_out() takes it out of d and adds its u, which it shares
// with neither test; where it is not, who shows a difference between benches has to say so
// (birth_sentence does).
//
// CONTRACT
//
//   CT-1  A metric that one of the tests does not have has no difference.
//   CT-2  A missing u leaves u and E_n missing, never 0.
//   CT-3  |E_n| = 1 is not significant.
//   CT-4  What is taken out never makes u smaller.

#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/evaluation.h"

namespace endgate::analysis {

struct Difference {
  std::string metric{};
  double birth = 0, change = 0;       // SI
  std::optional<double> u{}, e_n{};   // absent: an uncertainty is not known, or is zero
  std::vector<std::string> common{};  // causes that were in both and taken out
  // What the bench of the later test reads more than that of the birth test; taken out of `change`.
  std::optional<double> bench{}, bench_u{};

  [[nodiscard]] bool significant() const { return e_n && (*e_n > 1 || *e_n < -1); }
};

// In the order of `birth`.
[[nodiscard]] std::vector<Difference> differences(std::span<const Metric> birth,
                                                  std::span<const Metric> later);

// Of a difference that was not corrected yet; `reads_more` and its `u` in the unit of the metric.
void take_out(Difference& difference, double reads_more, double u);

struct ComparedWith {
  bool later_void = false;   // the later test was broken off or a channel was sick
  bool other_bench = false;  // the tests ran on different benches
};

// One to three plain sentences.  `all` as they stand, corrected or not.  The first by the first
// condition that holds:
//
//   no metric in both                "Nothing was measured in both tests."
//   no u known at all                "No uncertainty is known, so nothing can be said of n
//                                     changes."
//   none significant                 "None of n metrics differs from birth by more than its
//                                     uncertainty."
//   else the largest |E_n|           "Flow at 400 kPa is 5.8 % lower than at birth, 6.5 times its
//                                     uncertainty; k of n metrics differ by more than theirs."
//
// after it, where it holds:
//
//   later_void                       "The test was void; what was complete is compared."
//   other_bench, taken out nowhere   "The benches differ; what they read differently is not taken
//                                     out."
//   other_bench, taken out of all    "The benches differ; what they read differently is taken out."
//   other_bench, taken out of some   "The benches differ; what they read differently is taken out
//                                     of k of n metrics."
//   one bench, taken out of all      "What the bench reads differently since then is taken out."
//   one bench, taken out of some     "What the bench reads differently since then is taken out of k
//                                     of n metrics."
[[nodiscard]] std::string birth_sentence(std::span<const Difference> all, const ComparedWith& with);

}  // namespace endgate::analysis
