// How do the batches of one metric stand against their own limits: each mean, the running mean and
// the running sum, and where did their level change?
//
// As measured, or with the drift of the benches taken out; the same charts of either, so that the
// two can be laid side by side.  Limits and rules: daemon/queries/control_told.h.  Levels change
// where the optimal partition of the means says so; its penalty is raised by (1 + phi)/(1 - phi)
// when means resemble their neighbours about their levels, phi their correlation.  Units: SI; the
// running sum in standard deviations of a mean.

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
  ControlTold control{};             // limits, running mean and sum, signals
  std::vector<BatchLevel> levels{};  // at least one, in order
};

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
