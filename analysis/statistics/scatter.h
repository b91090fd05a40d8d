// How do values lie about their mean, and do a few of them lie far from all others?
//
// FAR     |x - median| > reach * 1.4826 * median |x - median|: robust standard deviations of a
//         normal form, so that the far ones do not hide themselves.  A few are strays; more than
//         the share `most` of all (rounded up) are the process, and none is far.  Nor is any when
//         more than half of all values are equal.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace endgate::statistics {

struct Scatter {
  std::size_t n = 0;
  std::optional<double> mean{}, sigma{};  // sigma: n - 1, needs two
};
[[nodiscard]] Scatter scatter_of(std::span<const double> values);

struct FarRule {
  double reach = 8, most = 0.02;
};
// Indices, increasing.
[[nodiscard]] std::vector<std::size_t> far_values(std::span<const double> values,
                                                  const FarRule& rule = {});

}  // namespace endgate::statistics
