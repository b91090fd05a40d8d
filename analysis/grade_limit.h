// One limit against one metric, with the reason code and how near it was.
//
// The rules are those of analysis/grade.h (G-1 ... G-6).

#pragma once

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

// The same without its sentence, for questions about a million tests.
[[nodiscard]] HeldLimit hold_without_words(const Metric& metric, const Limit& limit);

}  // namespace endgate::analysis
