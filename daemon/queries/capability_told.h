// Does one metric of one model fit inside its limits, and where could limits lie?

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "analysis/statistics/capability.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

// A unit that lies far from all others: reversed leads, another model in the fixture.
struct FarUnit {
  std::string serial{};
  double value = 0;  // SI
};

struct CapabilityTold {
  const analysis::MetricFacts* metric = nullptr;
  std::string model{};
  std::vector<double> values{};  // SI, of first tests (first_tests.h); without those left out
  // Two reversed readings would make any index meaningless, so the few that lie far from all others
  // (analysis/statistics/scatter.h) are named and left out.
  std::vector<FarUnit> left_out{};
  std::optional<double> centred_with_all{};    // all scatter, them included
  std::size_t batches = 0, without_batch = 0;  // units of no batch count in no scatter inside one
  double mean = 0, sigma_within = 0, sigma_overall = 0;  // within batches; over all
  double effective_n = 0;       // batches resemble themselves: fewer independent units
  statistics::Bounds bounds{};  // as held against the newest test
  std::optional<statistics::Index> spread_within{}, centred_within{};
  std::optional<statistics::Index> spread_overall{}, centred_overall{};
  // Room to the nearer limit by percentiles, and the form they come from; none of the normal form,
  // which would only say centred_overall again.
  std::optional<double> percentile{};
  statistics::Percentiles::Form form = statistics::Percentiles::Form::normal;
  bool skew = false;  // the normal form flatters: `percentile` counts
  // A share of 99 % of units lies beyond, with a confidence of 95 %.
  // By the order of the values where they are skew, then none while there are too few.
  std::optional<double> proposed_lower{}, proposed_upper{};
};
[[nodiscard]] std::optional<CapabilityTold> capability_of(const schema::StoreReader& store,
                                                          const TrendFilter& filter,
                                                          const std::string& metric);

}  // namespace endgate::daemon
