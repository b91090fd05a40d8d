// The charts of batch means, as measured and with the bench effect taken out, side by side.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/batch_charts.h"
#include "reports/trend_page.h"

namespace endgate::daemon {

inline constexpr std::size_t kBatchesDrawn = 160;  // the newest; more would be a smear

struct ChartsOfBatches {
  BatchCharts measured{}, without_bench{};
  std::size_t first = 0;  // drawn from this batch on
};
[[nodiscard]] ChartsOfBatches charts_of(const TrendTold& told);

// Means, running mean, running sum.
[[nodiscard]] std::vector<reports::ChartPair> chart_pairs(const TrendTold& told,
                                                          const ChartsOfBatches& charts);

// Changes of level of either, by batch, with the same letters everywhere.
struct LetteredChange {
  std::size_t batch = 0;
  std::string letter{};
};
[[nodiscard]] std::vector<LetteredChange> lettered_changes(const ChartsOfBatches& charts);
[[nodiscard]] std::vector<reports::ChangeMark> change_marks(
    const std::vector<LetteredChange>& lettered, const BatchCharts& charts, std::size_t first);

}  // namespace endgate::daemon
