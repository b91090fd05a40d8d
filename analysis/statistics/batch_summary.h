// What do the values of each batch say: how many, where, how wide, and how does the mean run?
//
// MODEL    n, mean, sigma (n - 1), the 1 %, 50 % and 99 % points and the running mean
//          e_i = e_(i-1) + lambda (x_i - e_(i-1)), which goes on from batch to batch; e_0 = x_0.
//          A point p is the smallest value that at least a share p of the batch does not exceed.
// CONTRACT
//   BS-1  the points are values of the batch, exactly those that sorting would give
//   BS-2  mean and sigma are compensated sums about the batch's first value
//   BS-3  work and memory grow with the number of values, never faster
//
// Unit: that of the values.

#pragma once

#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/sum.h"

namespace endgate::statistics {

struct BatchSummary {
  std::string batch{};
  std::size_t n = 0;
  double mean = 0, sigma = 0;  // sigma 0 with a single value
  double p1 = 0, p50 = 0, p99 = 0;
  double running_mean = 0;  // behind the last value of the batch
};

// Takes values in order of position, a stretch of one batch at a time.
class BatchSummaries {
 public:
  explicit BatchSummaries(double lambda) : lambda_(lambda) {}
  void add(std::string_view batch, std::span<const double> values);
  // In order of first appearance.
  [[nodiscard]] std::vector<BatchSummary> finish();

 private:
  struct Open {
    std::string name{};
    std::vector<double> values{};
    analysis::Sum sum{}, square{};  // about the first value
    double running_mean = 0;
  };
  static BatchSummary summary_of(Open& open);
  Open& open_of(std::string_view batch);

  double lambda_;
  bool begun_ = false;
  double running_mean_ = 0;
  std::vector<Open> open_{};
  std::map<std::string, std::size_t, std::less<>> place_{};
};

// The value of each rank (from 0, ascending, all below the number of values) that sorting would
// put there.
[[nodiscard]] std::vector<double> values_of_rank(std::span<const double> values,
                                                 std::span<const std::size_t> ranks);

}  // namespace endgate::statistics
