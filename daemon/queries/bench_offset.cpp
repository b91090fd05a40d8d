#include "daemon/queries/bench_offset.h"

#include "analysis/say_number.h"

namespace endgate::daemon {

std::vector<BenchOffset> bench_offsets(const TrendTold& told) {
  std::vector<BenchOffset> offsets;
  const statistics::ProductOrBench& side = told.side;
  const auto first = static_cast<std::ptrdiff_t>(side.first_batch);
  for (std::size_t bench = 0; bench < side.drift.size(); ++bench)
    offsets.push_back({.bench = side.benches[bench],
                       .first_batch = side.first_batch,
                       .batches = {side.drift[bench].begin() + first, side.drift[bench].end()}});
  return offsets;
}

std::string words_of(const TrendTold& told, const BenchOffset& offset) {
  const statistics::BenchAtBatch& last = offset.batches.back();
  const double size = told.metric->factor;
  const int places = analysis::places_for(2 * last.u * size, told.metric->decimals);
  return "Bench " + offset.bench + ": " + analysis::say_number(last.drift * size, places) + " ± " +
         analysis::say_number(2 * last.u * size, places) + "\u00A0" +
         std::string(told.metric->display_unit) + " at batch " + told.batches.back().batch +
         ", against its reading at batch " + told.batches[offset.first_batch].batch + ".";
}

}  // namespace endgate::daemon
