// What do the batches of one metric say: who moved, since when, and with what?

#pragma once

#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "analysis/statistics/product_or_bench.h"
#include "analysis/statistics/trend_cause.h"
#include "daemon/queries/control_told.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct TrendTold {
  const analysis::MetricFacts* metric = nullptr;
  TrendFilter filter{};
  std::size_t tests = 0;          // of a batch
  std::size_t without_batch = 0;  // others that match: on no chart, judged nowhere
  std::size_t far = 0;            // of `tests`, far from all others: charted, not asked for causes
  bool repeated = false;          // some bench tested two units of one batch
  std::vector<BatchPoint> batches{};
  // Signals of the charts as measured, by limits of their time if any were frozen, and with the
  // bench effect taken out, by limits of what is shown.
  ControlTold control{}, control_without_bench{};
  statistics::TrendCauses causes{};
  statistics::ProductOrBench side{};
};

// Nothing when no metric has that id.  `versions`: the control limits that were frozen for such a
// question, oldest first.
[[nodiscard]] std::optional<TrendTold> told_of(const schema::StoreReader& store,
                                               const TrendFilter& filter, const std::string& metric,
                                               std::vector<ControlVersion> versions = {});

// Was a drift of a bench known and taken out of any mean?
[[nodiscard]] bool bench_taken_out(const TrendTold& told);

// "1 test without a batch is on no chart and judged nowhere."; empty when all have one.
[[nodiscard]] std::string sentence_without_batch(const TrendTold& told);

// "2 tests far from all others are on the charts and not asked for causes."; empty when none is.
[[nodiscard]] std::string sentence_of_far(const TrendTold& told);

// "The product moved: ..." / "Bench south drifted by ..." / "Nothing moved beyond chance in ..."
[[nodiscard]] std::string sentence_of_side(const TrendTold& told);
// "Likely cause: reed lot R-118, 97 % (flow −1.9 ± 0.3 L/min)." / "No recorded cause ..."
[[nodiscard]] std::string sentence_of_causes(const TrendTold& told);

}  // namespace endgate::daemon
