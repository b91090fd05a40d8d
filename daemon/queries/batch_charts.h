// How do the batches of one metric stand against their own limits: each mean, the running mean and
// the running sum, and where did their level change?
//
// As measured, or with the drift of the benches taken out; the same charts of either, so that the
// two can be laid side by side.  Batch means are charted as individuals
// (analysis/statistics/control_chart.h).  Levels change where the optimal partition of the means
// says so; its penalty is raised by (1 + phi)/(1 - phi) when means resemble their neighbours about
// their levels, phi their correlation.  Units: SI; the running sum in standard deviations of a
// mean.

#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "daemon/queries/trend_told.h"

namespace endgate::daemon {

struct BatchLevel {
  std::size_t from = 0, to = 0;  // first batch, one behind the last
  double mean = 0;
};

struct BatchCharts {
  std::vector<double> means{};
  std::optional<statistics::ChartLimits> limits{};  // absent: fewer than two, or all alike
  statistics::RunningMean running{};
  statistics::RunningSum sum{};
  std::vector<std::size_t> beyond{};                          // each mean outside its limits
  std::vector<std::size_t> running_signals{}, sum_signals{};  // the first of each run
  std::vector<BatchLevel> levels{};                           // at least one, in order
};

// k 0.5 finds a lasting shift of one standard deviation soonest; with h 4.77 one false signal in
// 370 points is expected, as often as of a point outside limits of 3 standard deviations
// (computed).
inline constexpr double kSumSlack = 0.5, kSumLimit = 4.77;

[[nodiscard]] BatchCharts charts_as_measured(const TrendTold& told);
[[nodiscard]] BatchCharts charts_without_bench(const TrendTold& told);

// Mean and scatter of the units of one batch that one bench tested.
struct BenchBatch {
  std::size_t batch = 0, bench = 0;   // index in TrendTold::batches, in `benches`
  double n = 0, mean = 0, sigma = 0;  // SI; sigma 0 with a single unit
};
struct BatchesByBench {
  std::vector<std::string> benches{};
  std::vector<BenchBatch> means{};  // batch by batch
};
[[nodiscard]] BatchesByBench batches_by_bench(const statistics::TestColumns& columns);

}  // namespace endgate::daemon
