// What are the batches of one metric, each as one point?  In order of first appearance; SI.

#pragma once

#include <string>
#include <vector>

#include "analysis/statistics/product_or_bench.h"
#include "analysis/statistics/test_columns.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct BatchPoint {
  std::string batch{};
  double n = 0, mean = 0, sigma = 0;                       // SI; sigma 0 with a single unit
  double mean_without_bench = 0;                           // bench drift taken out
  schema::Position first_position = 0, last_position = 0;  // of its tests
};

// The name under which tests without a batch are gathered.
inline constexpr const char* kNoBatch = "no batch";

// `side` knows the drift of the benches, if anybody does.
[[nodiscard]] std::vector<BatchPoint> batch_points(const statistics::TestColumns& columns,
                                                   const statistics::ProductOrBench& side = {});

}  // namespace endgate::daemon
