// Did the product move, or the bench that measures it?
//
// MODEL, over batches g in order, benches k, reference units m
//
//   mean of bench k in batch g   y = level + product_g + bench_k + drift_kg + noise
//   check of a reference unit    r = unit_m + bench_k + drift_kg + noise
//
//   product_g   a random walk plus an independent part of each batch
//   drift_kg    a random walk of each bench, 0 at the first batch
//   level, bench_k, unit_m   constants about which nothing is known beforehand
//
//   The sizes of the walks and of the batch part are those with the greatest likelihood on a
//   grid (steps of 4 to 10).  Everything is jointly normal, so each statement comes with its
//   uncertainty, and without checks and with a single bench the answer is honestly open: then
//   only the sum of product and bench is seen.  A drift common to both benches shows in reference
//   checks alone.
//
// STATEMENT   for the bench or the product with the surest change, mean of the last batches minus
//   mean before any batch: whether it stands out, then since when and by how much.  Date and size
//   are those of the step or the ramp that least squares under the covariances above is surest of:
//   a walk that is steady for most benches would hold back the jump of one.  With u, and the
//   probability that it changed more than its counterpart did on that bench.

#pragma once

#include <cstddef>
#include <functional>
#include <string>
#include <vector>

#include "analysis/statistics/test_columns.h"
#include "analysis/statistics/trend_cause.h"

namespace endgate::statistics {

struct ReferenceCheck {
  std::string bench{}, unit{};
  std::size_t batch = 0;  // index of the batch that was tested about then
  double value = 0, u = 0;
};

struct BenchAtBatch {
  double drift = 0, u = 0;
};
struct ProductOrBench {
  enum class Said { nothing, product, bench, open, too_few };
  Said said = Said::too_few;
  std::string bench{};  // of `bench`
  std::size_t since_batch = 0;
  double change = 0, u = 0;
  double probability = 0;
  bool checked = false;         // reference checks were there
  std::size_t first_batch = 0;  // earlier ones were not looked at
  std::vector<std::string> benches{};
  std::vector<std::vector<BenchAtBatch>> drift{};  // by bench, then batch; 0 before the first
  std::vector<BenchAtBatch> product{};             // from its first batch
};

// The checks of one unit on one bench in one batch as their mean: the model has the same parts in
// each, so nothing is lost where their u are alike, as they are for one unit on one bench, and the
// cost is bounded by the batches however often is checked.  In order of batch, bench, unit.
[[nodiscard]] std::vector<ReferenceCheck> joined_checks(const std::vector<ReferenceCheck>& checks);

// Means and checks together that are looked at, as many of the newest batches as that allows and no
// more than kMostBatches: the work grows with the cube of it.
inline constexpr std::size_t kMostMeans = 700;
// `go_on` is called between steps that may take seconds each with many benches; it ends the
// question by throwing.
[[nodiscard]] ProductOrBench product_or_bench(const TestColumns& columns,
                                              const std::vector<ReferenceCheck>& checks,
                                              const std::function<void()>& go_on = {});

}  // namespace endgate::statistics
