// Where did the level of a series change?
//
//   one change   the split with the least sum of squares; F of that split (its distribution is not
//                F: the largest of many was taken), rank form of Pettitt with its p-value
//   several      optimal partition: least sum of (squares / sigma^2) + penalty per segment, with
//                sigma from the differences (steps do not widen it) and a least segment length
// Points that resemble their neighbours make all of these cry wolf: feed batch means, and raise
// the penalty by (1 + phi)/(1 - phi).

#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace endgate::statistics {

struct OneChange {
  std::size_t last_before = 0;  // index of the last point of the first level
  double mean_before = 0, mean_after = 0;
  double f = 0;
  double rank_sum = 0, rank_p = 1;  // Pettitt
  std::size_t rank_last_before = 0;
};
[[nodiscard]] OneChange one_change(std::span<const double> values);  // needs three points

struct Partition {
  double penalty = 0;  // 0: 3 ln n
  std::size_t least = 5;
};
// First index of each segment but the first.
[[nodiscard]] std::vector<std::size_t> changes(std::span<const double> values,
                                               const Partition& partition = {});
[[nodiscard]] double sigma_from_differences(std::span<const double> values);

}  // namespace endgate::statistics
