// Does a number known from the beginning say who comes back sooner?
//
// MODEL     the rate of coming back at any age is multiplied by exp(ln_ratio) for each step of x
//           (proportional hazards); at every age a return is compared with those still out at that
//           age alone, so units of different age can stand together
// ESTIMATE  partial likelihood, ties by Efron's way; u from its curvature
// TEST      score test of "x makes no difference"
//
// `x` as it is given: scores by rank (normal_scores) keep a few far values from deciding alone, and
// then one step leads from a middling unit to the one that 84 % lie below.
//
// Refuses fewer than three returns (too_few_points), x without scatter inside strata, and an
// estimate without bound: all returns lie at one end of x (singular). Sources: Cox 1972, Efron
// 1977; power by Hsieh and Lavori 2000.

#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "analysis/outcome.h"
#include "analysis/statistics/proportion.h"

namespace endgate::statistics {

struct Exposed {
  double time = 0;
  bool returned = false;
  double x = 0;
  int stratum = 0;
};

struct HazardStep {
  double ln_ratio = 0, u = 0;
  double log_likelihood = 0, log_likelihood_without = 0;
  double p = 1;
  [[nodiscard]] double ratio() const;
  [[nodiscard]] Interval ratio_95() const;
};
[[nodiscard]] analysis::Outcome<HazardStep> hazard_step(std::vector<Exposed> units);

// Returns that are compared with anybody: another unit of their stratum was in use that long.
[[nodiscard]] std::int64_t returns_compared(std::vector<Exposed> units);

// Mean 0 and standard deviation near 1 by rank alone; equal values share their mean rank.
[[nodiscard]] std::vector<double> normal_scores(std::span<const double> values);

// The ratio for one standard deviation of x that so many returns would show in 8 of 10 cases, at
// the two-sided chance of a false alarm.
[[nodiscard]] double least_ratio_shown(double returns, double false_alarm);

}  // namespace endgate::statistics
