// Where did the level of a series change?
//
//   changes      optimal partition: least sum of (squares / sigma^2) + penalty per segment, with
//                sigma from the differences (steps do not widen it) and a least segment length
// Points that resemble their neighbours make all of these cry wolf: feed batch means, and raise
// the penalty by (1 + phi)/(1 - phi).

#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace endgate::statistics {

struct Partition {
  double penalty = 0;  // 0: 3 ln n
  std::size_t least = 5;
};
// First index of each segment but the first.
[[nodiscard]] std::vector<std::size_t> changes(std::span<const double> values,
                                               const Partition& partition = {});
[[nodiscard]] double sigma_from_differences(std::span<const double> values);

}  // namespace endgate::statistics
