// After how long do units come back, when most have not come back yet?
//
// A life is the time in use until the return, or until now for a unit that is still out
// (censored).  Every shipped unit counts, not the returns alone.
//
//   share still out   product-limit estimate (Kaplan and Meier) with Greenwood's standard error;
//                     at equal times returns come before censored lives
//   form              Weibull, S(t) = exp(-(t/scale)^shape), maximum likelihood; intervals from
//                     the information matrix in ln(scale) and ln(shape).  Shape above 1: wear.
//                     The shape is biased high while few have come back
//
// Unit: whatever the times are in.

#pragma once

#include <vector>

#include "analysis/outcome.h"
#include "analysis/statistics/proportion.h"

namespace endgate::statistics {

struct Life {
  double time = 0;  // > 0
  bool returned = false;
};

struct ShareOut {
  double time = 0, share = 1, u = 0;
  int at_risk = 0, returned = 0;
};
[[nodiscard]] std::vector<ShareOut> share_still_out(std::vector<Life> lives);
// 95 %, formed in ln(-ln(share)), so that it never leaves 0 to 1; nothing can be said of 0 and 1.
[[nodiscard]] Interval share_interval(const ShareOut& step);

struct WeibullFit {
  double scale = 0, shape = 0, log_likelihood = 0;
  Interval scale_95{}, shape_95{};
  [[nodiscard]] double returned_by(double time) const;
};
// Refuses fewer than three returns and a time that is not above 0.
[[nodiscard]] analysis::Outcome<WeibullFit> fit_weibull(const std::vector<Life>& lives);

}  // namespace endgate::statistics
