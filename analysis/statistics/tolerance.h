// Between which bounds does a stated share of all units lie, with a stated confidence?
//
//   one-sided   mean -+ k1 s, k1 = t'_confidence(n - 1; z_share sqrt n) / sqrt n     (exact)
//   two-sided   mean -+ k2 s, k2 solved from the chi-square mixture of ISO 16269-6   (exact)
// Both assume a normal population without batches; with batches use the effective n.

#pragma once

#include <cstddef>

namespace endgate::statistics {

struct Coverage {
  double share = 0.99, confidence = 0.95;
};
[[nodiscard]] double tolerance_factor_one_sided(double n, const Coverage& coverage);
[[nodiscard]] double tolerance_factor_two_sided(double n, const Coverage& coverage);
// The r-th smallest of n values is the lower bound, the largest r that holds; 0: n is too small.
[[nodiscard]] std::size_t tolerance_rank(std::size_t n, const Coverage& coverage);

}  // namespace endgate::statistics
