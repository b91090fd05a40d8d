// Does what the process makes fit inside its limits, and how sure is that?
//
// MODEL   (the shifted log-normal form by its moments: Aitchison and Brown 1957, from memory)
//   short-term   Cp = (U - L) / (6 s_within), Cpk = min(U - mean, mean - L) / (3 s_within)
//   long-term    Pp, Ppk with the standard deviation of all values
//   percentile   min((U - x50)/(x99.865 - x50), (x50 - L)/(x50 - x0.135)), x by Percentiles::Form
//   With one limit only its own side exists; the other is never invented.
// INTERVALS   Cp, Pp: chi-square of the variance.  Cpk, Ppk: Bissell 1990,
//   c -+ z sqrt(1/(9 n) + c^2/(2 (n - 1))).
// Meaningless while the process moves; the caller says so.  Units of one batch resemble each
// other: `effective` n = n / (1 + (m - 1) rho) is used for the interval, m units a batch, rho the
// share of variance between batches.

#pragma once

#include <cstddef>
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
  enum class Form {
    normal,  // the values are not skew, and too few to be taken by their order
    // A log-normal form shifted so that mean, standard deviation and skewness are those of the
    // values, mirrored when their tail lies below: a leak, or delivery with a few weak units.  A
    // sample shows less skewness than its process has, so the tail is rather told too short.
    skew,
    order  // of the values themselves, without a form
  };
  double low = 0, middle = 0, high = 0;  // 0.135, 50, 99.865 %
  Form form = Form::normal;
};
inline constexpr std::size_t kByOrderFrom = 2000;
inline constexpr double kSkew = 1;  // beyond, to either side, the normal form flatters
[[nodiscard]] double percentile_index(const Bounds& bounds, const Percentiles& x);
// By order from kByOrderFrom values on, else skew beyond kSkew, else normal.
[[nodiscard]] Percentiles percentiles_of(std::span<const double> values);

// Quantile of sorted values, linear in (n - 1) p.
[[nodiscard]] double sample_quantile(std::span<const double> sorted, double p);
[[nodiscard]] double skewness(std::span<const double> values);

}  // namespace endgate::statistics
