// Does what the process makes fit inside its limits, and how sure is that?
//
// MODEL
//   short-term   Cp = (U - L) / (6 s_within), Cpk = min(U - mean, mean - L) / (3 s_within)
//   long-term    Pp, Ppk with the standard deviation of all values
//   percentile   min((U - x50)/(x99.865 - x50), (x50 - L)/(x50 - x0.135)), x from a fitted
//                log-normal form, or empirical from 2000 values on: for skew metrics such as leaks
//   With one limit only its own side exists; the other is never invented.
// INTERVALS   Cp, Pp: chi-square of the variance.  Cpk, Ppk: Bissell 1990,
//   c -+ z sqrt(1/(9 n) + c^2/(2 (n - 1))).
// Meaningless while the process moves; the caller says so.  Units of one batch resemble each
// other: `effective` n = n / (1 + (m - 1) rho) is used for the interval, m units a batch, rho the
// share of variance between batches.

#pragma once

#include <optional>
#include <span>

#include "analysis/statistics/proportion.h"

namespace endgate::statistics {

struct Bounds {
  std::optional<double> lower, upper;
};
struct Index {
  double value = 0;
  Interval interval{};
};

[[nodiscard]] Index spread_index(const Bounds& bounds, double sigma, double n,
                                 double confidence = 0.95);  // needs both bounds
[[nodiscard]] Index centred_index(const Bounds& bounds, double mean, double sigma, double n,
                                  double confidence = 0.95);  // needs one bound
[[nodiscard]] Interval bissell(double index, double n, double confidence = 0.95);

struct Percentiles {
  double low = 0, middle = 0, high = 0;  // 0.135, 50, 99.865 %
};
[[nodiscard]] double percentile_index(const Bounds& bounds, const Percentiles& x);
// Empirical from 2000 values on, else log-normal when all are above 0, else normal.
[[nodiscard]] Percentiles percentiles_of(std::span<const double> values);

// Quantile of sorted values, linear in (n - 1) p.
[[nodiscard]] double sample_quantile(std::span<const double> sorted, double p);
[[nodiscard]] double skewness(std::span<const double> values);

}  // namespace endgate::statistics
