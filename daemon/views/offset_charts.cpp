#include "daemon/views/offset_charts.h"

#include <algorithm>
#include <limits>
#include <string>

#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

constexpr double kOneAlone = 1220;  // width

reports::ChartPair::Half offset_half(const TrendTold& told, const BenchOffset& offset,
                                     std::size_t first) {
  constexpr double kNotLookedAt = std::numeric_limits<double>::quiet_NaN();
  const std::string metric(told.metric->id);
  reports::BatchChart chart{.description = words_of(told, offset), .unit = metric_unit(metric)};
  for (std::size_t i = first; i < told.batches.size(); ++i) {
    chart.names.push_back({static_cast<double>(i - first), told.batches[i].batch});
    const bool known = i >= offset.first_batch;
    const statistics::BenchAtBatch at =
        known ? offset.batches[i - offset.first_batch] : statistics::BenchAtBatch{};
    const auto number = [&](double si) { return known ? shown_size(metric, si) : kNotLookedAt; };
    chart.values.push_back(number(at.drift));
    chart.low.push_back(number(at.drift - 2 * at.u));
    chart.high.push_back(number(at.drift + 2 * at.u));
    chart.centres.push_back(number(0));
  }
  return {chart.description, std::move(chart)};
}

}  // namespace

std::vector<reports::ChartPair> offset_charts(const TrendTold& told, std::size_t first) {
  std::vector<reports::ChartPair> pairs;
  reports::Span all{0, 0};
  for (const BenchOffset& offset : bench_offsets(told)) {
    reports::ChartPair::Half half = offset_half(told, offset, first);
    const reports::Span own = span_of(half.chart);
    all = {std::min(all.low, own.low), std::max(all.high, own.high)};
    if (!pairs.empty() && pairs.back().without_bench.sentence.empty()) {
      pairs.back().without_bench = std::move(half);
      continue;
    }
    pairs.push_back({.heading = "Drift of the benches",
                     .words = "Shaded: ± U, k = 2. From units of one batch on several benches and "
                              "from reference units; no result is altered by it.",
                     .measured = std::move(half)});
  }
  for (reports::ChartPair& pair : pairs) {
    pair.measured.chart.at_least = pair.without_bench.chart.at_least = all;
    if (pair.without_bench.sentence.empty()) pair.measured.chart.width = kOneAlone;
  }
  return pairs;
}

}  // namespace endgate::daemon
