// How sure is a share of k out of n?
//
// Units are counted, not tests.  Units of one batch resemble each other, so intervals are a lower
// bound on the doubt when few batches stand behind n.
// Sources: Wilson 1927; Clopper and Pearson 1934; Fisher's exact test (two-sided by probability).

#pragma once

#include <cstdint>

namespace endgate::statistics {

struct Interval {
  double low = 0, high = 0;
};
[[nodiscard]] Interval wilson(std::int64_t count, std::int64_t of, double confidence = 0.95);
[[nodiscard]] Interval clopper_pearson(std::int64_t count, std::int64_t of,
                                       double confidence = 0.95);
// Do two shares differ?  The two-sided p-value.
[[nodiscard]] double fisher_exact(std::int64_t count1, std::int64_t of1, std::int64_t count2,
                                  std::int64_t of2);

}  // namespace endgate::statistics
