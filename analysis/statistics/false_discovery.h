// Which of many p-values still mean something?
//
// Adjusted p-values: keep all below q and at most the share q of them is expected to be chance.
// Benjamini and Hochberg 1995 (independent or positively dependent tests).

#pragma once

#include <span>
#include <vector>

namespace endgate::statistics {

[[nodiscard]] std::vector<double> adjusted_for_many(std::span<const double> p);

}  // namespace endgate::statistics
