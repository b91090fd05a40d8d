// What do several tests of one unit say about one metric?
//
// The mean, with the uncertainty by cause that analysis/standing.h states.

#pragma once

#include <optional>
#include <span>
#include <string>

#include "analysis/evaluation.h"

namespace endgate::analysis {

struct CombinedMetric {
  Metric metric;           // missing when no test has it
  std::size_t tests = 0;   // that have it: the mean is of these
  bool consistent = true;  // chance explains the scatter of the values (chi-square, 1 %)
};

// `measured`: that metric from each test, in any order; tests without a value are left out.
[[nodiscard]] CombinedMetric combine(const std::string& id, std::span<const Metric> measured);

}  // namespace endgate::analysis
