// How many standard uncertainties wide must a guard band be?
//
// Two ways to answer, both with normal error and nothing known of the unit beforehand (a prior from
// a production that has drifted would be wrong just when it matters):
//
//   by risk    a unit that lies exactly on its limit gets the wrong answer with at most probability
//              r:                    factor = z(1 - r)                     r = 5 %: 1.645
//   by cost    the answer is given only where it is the cheaper one on average, when giving it
//              wrongly costs c times as much as withholding it wrongly:
//                                    factor = z(c / (1 + c))              c = 19: 1.645
//
//   z is the quantile of the standard normal.  Source: JCGM 106:2012, clauses 8.3 and 9.5 (from
//   memory), with a flat prior.

#pragma once

#include "analysis/outcome.h"

namespace endgate::analysis {

// 0 < risk <= 0.5, else a refusal (value_out_of_domain).
[[nodiscard]] Outcome<double> guard_factor_at_risk(double risk);

// cost_ratio > 0 and finite, else a refusal.  Below 1 the factor is negative: a relaxed limit.
[[nodiscard]] Outcome<double> guard_factor_at_cost(double cost_ratio);

}  // namespace endgate::analysis
