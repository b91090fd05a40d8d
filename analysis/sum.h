// What is the sum of many numbers, the same to the last bit wherever they lie in memory?
//
// A vectorised sum changes with the alignment of its data, and a replay must give the same bits.
// So every sum over samples or points goes through here: one pass in index order with Neumaier's
// compensation, which the compiler may not reorder (the build has no -ffast-math).
//
//   SU-1  The result depends on the values and their order, never on their address.
//   SU-2  The error is a few units in the last place of the sum, even when large terms cancel.
//   SU-3  The sum of nothing is 0; the mean of nothing is missing.
//
// Unit: that of the values.  Source: A. Neumaier, 1974 (from memory; tested on cancelling sums).

#pragma once

#include <cmath>
#include <cstddef>
#include <optional>
#include <span>

namespace endgate::analysis {

// A running sum.  Non-finite terms give a non-finite value, as a plain sum would.
class Sum {
 public:
  void add(double term) {
    const double total = total_ + term;
    const bool total_is_larger = std::abs(total_) >= std::abs(term);
    lost_ += total_is_larger ? (total_ - total) + term : (term - total) + total_;
    total_ = total;
  }
  [[nodiscard]] double value() const { return std::isfinite(total_) ? total_ + lost_ : total_; }

 private:
  double total_ = 0;
  double lost_ = 0;  // what rounding took away so far
};

[[nodiscard]] inline double sum_of(std::span<const double> values) {
  Sum sum;
  for (const double value : values) sum.add(value);
  return sum.value();
}

[[nodiscard]] inline std::optional<double> mean_of(std::span<const double> values) {
  if (values.empty()) return std::nullopt;
  return sum_of(values) / static_cast<double>(values.size());
}

// The sum of term(0) ... term(count - 1): for products and squares without a temporary.
template <class Term>
[[nodiscard]] double sum_over(std::size_t count, Term term) {
  Sum sum;
  for (std::size_t i = 0; i < count; ++i) sum.add(term(i));
  return sum.value();
}

}  // namespace endgate::analysis
