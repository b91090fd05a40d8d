// Do two benches show the same units alike?
//
// The same units on both, one mean each: differences, second less first.
//
// MODEL       differences scatter normally about their mean; units are independent
// mean        with its 95 % interval (Student's t)
// single      mean -+ 1.96 sigma: where 95 % of single differences lie (limits of agreement)
// slope       of the difference over the mean of both: benches that differ by a factor; its p-value
// alike       two one-sided t tests: p that the means differ by at least `allowed`; below 5 % the
//             benches agree within it.  A large p of "no difference" would not show that
//
// Refuses fewer than three units and differences that are all alike.
// Sources: Bland and Altman 1986 (its data are a test); Schuirmann 1987 (from memory).

#pragma once

#include <optional>
#include <span>

#include "analysis/outcome.h"
#include "analysis/statistics/proportion.h"

namespace endgate::statistics {

struct OnBoth {
  double first = 0, second = 0;
};

struct PairedDifference {
  int n = 0;
  double mean = 0, sigma = 0;
  Interval mean_95{}, single_95{};
  double slope = 0, slope_p = 1;
  std::optional<double> unlike_p{};  // with `allowed` only
  [[nodiscard]] bool differ() const { return mean_95.low > 0 || mean_95.high < 0; }
  [[nodiscard]] bool alike() const { return unlike_p && *unlike_p < 0.05; }
};
[[nodiscard]] analysis::Outcome<PairedDifference> paired_difference(std::span<const OnBoth> units,
                                                                    std::optional<double> allowed);

}  // namespace endgate::statistics
