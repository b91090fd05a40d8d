#include "analysis/statistics/change_point.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "analysis/sum.h"

namespace endgate::statistics {
namespace {

// Sums up to each index, about the mean so that squares do not cancel.
class Sums {
 public:
  explicit Sums(std::span<const double> values) : sum_{0}, square_{0} {
    const double mean = analysis::mean_of(values).value_or(0);
    analysis::Sum sum, square;
    for (const double value : values) {
      sum.add(value - mean);
      square.add((value - mean) * (value - mean));
      sum_.push_back(sum.value());
      square_.push_back(square.value());
    }
  }
  // Sum of squares of [from, to) about its own mean.
  [[nodiscard]] double scatter(std::size_t from, std::size_t to) const {
    const double s = sum_[to] - sum_[from];
    return square_[to] - square_[from] - s * s / static_cast<double>(to - from);
  }

 private:
  std::vector<double> sum_, square_;
};

double median(std::vector<double> values) {
  std::ranges::sort(values);
  const std::size_t half = values.size() / 2;
  return values.size() % 2 == 1 ? values[half] : (values[half - 1] + values[half]) / 2;
}

}  // namespace

double sigma_from_differences(std::span<const double> values) {
  if (values.size() < 3) return 0;
  std::vector<double> steps;
  for (std::size_t i = 1; i < values.size(); ++i) steps.push_back(values[i] - values[i - 1]);
  const double middle = median(steps);
  for (double& step : steps) step = std::abs(step - middle);
  return 1.482602218505602 * median(steps) / std::sqrt(2.0);
}

std::vector<std::size_t> changes(std::span<const double> values, const Partition& partition) {
  const std::size_t n = values.size();
  const double sigma = sigma_from_differences(values);
  if (n < 2 * partition.least || !(sigma > 0)) return {};
  const double penalty =
      partition.penalty > 0 ? partition.penalty : 3 * std::log(static_cast<double>(n));
  const Sums sums(values);
  std::vector<double> cost(n + 1, std::numeric_limits<double>::infinity());
  std::vector<std::size_t> from(n + 1, 0);
  cost[0] = -penalty;
  for (std::size_t to = partition.least; to <= n; ++to)
    for (std::size_t start = 0; start + partition.least <= to; ++start) {
      const double here = cost[start] + sums.scatter(start, to) / (sigma * sigma) + penalty;
      if (here < cost[to]) cost[to] = here, from[to] = start;
    }
  std::vector<std::size_t> starts;
  for (std::size_t at = from[n]; at > 0; at = from[at]) starts.push_back(at);
  std::ranges::reverse(starts);
  return starts;
}

}  // namespace endgate::statistics
