// How far has each bench drifted, batch by batch, and how sure is that?
//
// Against its own reading at the first batch that was looked at, from reference checks and from
// units of the same batches on other benches (analysis/statistics/product_or_bench.h).  SI.  Old
// results are not altered by it.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/trend_told.h"

namespace endgate::daemon {

struct BenchOffset {
  std::string bench{};
  std::size_t first_batch = 0;                      // where it is 0, by definition
  std::vector<statistics::BenchAtBatch> batches{};  // from there on
};
// Empty when there are too few batches to tell product from bench.
[[nodiscard]] std::vector<BenchOffset> bench_offsets(const TrendTold& told);

// "Bench south: −0.7 ± 0.3 L/min at batch 19-B2, against its reading at batch 1-B1.", k = 2
[[nodiscard]] std::string words_of(const TrendTold& told, const BenchOffset& offset);

}  // namespace endgate::daemon
