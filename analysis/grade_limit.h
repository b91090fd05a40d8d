// One limit against what it is on, with the reason code and how near it was.
//
// The rules are those of analysis/grade.h (G-1 ... G-6, G-10).

#pragma once

#include <span>
#include <string_view>

#include "analysis/context.h"
#include "analysis/evaluation.h"

namespace endgate::analysis {

struct HeldLimit {
  LimitOutcome outcome;
  std::string_view code;   // one of analysis/reason_codes.h
  double margin_in_u = 0;  // margin / u: the smaller, the nearer to its bound or the further beyond
};

[[nodiscard]] HeldLimit hold(const Metric& metric, const Limit& limit);

// Whatever the limit is on (analysis/limit_subject.h), found in what a test measured.
[[nodiscard]] HeldLimit hold(const Limit& limit, std::span<const Metric> metrics,
                             std::span<const DrawnPoint> drawn);

// The worst of a band's points is its outcome: fail before undecided before pass, then the nearest.
// `points`: what the curve is at each of the limit's points, in their order.
[[nodiscard]] HeldLimit hold_band(const Limit& limit, std::span<const Metric> points);

// The same without its sentence, for questions about a million tests.
[[nodiscard]] HeldLimit hold_without_words(const Metric& metric, const Limit& limit);

}  // namespace endgate::analysis
