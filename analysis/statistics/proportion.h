// How sure is a share of k out of n?
//
// Units are counted, not tests.  Units of one batch resemble each other, so intervals are a lower
// bound on the doubt when few batches stand behind n.
// Source: Wilson 1927.

#pragma once

#include <cstdint>

namespace endgate::statistics {

struct Interval {
  double low = 0, high = 0;
};
[[nodiscard]] Interval wilson(std::int64_t count, std::int64_t of, double confidence = 0.95);

}  // namespace endgate::statistics
