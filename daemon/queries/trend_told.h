// What do the batches of one metric say: who moved, since when, and with what?

#pragma once

#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "analysis/statistics/control_chart.h"
#include "analysis/statistics/likely_cause.h"
#include "analysis/statistics/product_or_bench.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct BatchPoint {
  std::string batch{};
  double n = 0, mean = 0, sigma = 0;  // SI; sigma 0 with a single unit
  double mean_without_bench = 0;      // bench drift taken out
};

struct TrendTold {
  const analysis::MetricFacts* metric = nullptr;
  TrendFilter filter{};
  std::size_t tests = 0;
  std::vector<BatchPoint> batches{};
  std::optional<statistics::ChartLimits> limits{};  // of batch means as individuals
  statistics::RunningMean running{};                // of batch means about their mean
  double promised_run_length = 0;                   // batches until a false signal, on average
  std::vector<std::size_t> beyond{};                // batches outside the limits
  std::vector<std::size_t> running_signals{};       // first batch of each signal
  statistics::CauseRanking causes{};
  statistics::ProductOrBench side{};
};

// lambda 0.1, L 2.7: one false signal in 369 points when nothing moves (computed).
inline constexpr double kTrendLambda = 0.1, kTrendWidth = 2.7;

// Nothing when no metric has that id.
[[nodiscard]] std::optional<TrendTold> told_of(const schema::StoreReader& store,
                                               const TrendFilter& filter,
                                               const std::string& metric);

// "The product moved: ..." / "Bench south drifted by ..." / "Nothing moved beyond chance in ..."
[[nodiscard]] std::string sentence_of_side(const TrendTold& told);
// "Likely cause: reed lot R-118, 97 % (flow −1.9 ± 0.3 L/min)." / "No recorded cause ..."
[[nodiscard]] std::string sentence_of_causes(const TrendTold& told);

}  // namespace endgate::daemon
