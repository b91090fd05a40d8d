// How does one metric of one model go over tests?

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "schema/store.h"

namespace endgate::daemon {

struct MetricTrend {
  const analysis::MetricFacts* metric = nullptr;  // unit, name and digits to show it with
  std::string model;
  std::vector<schema::StoreReader::TrendRow> rows;  // by position, oldest first; SI
  // Over the rows that have a value and are not void.
  std::size_t valued = 0;
  std::optional<double> mean_si;
  std::optional<double> sigma_si;  // of a single test; needs two
};

// The newest `count` tests of the model; nothing when no metric has that id.
[[nodiscard]] std::optional<MetricTrend> trend_of(const schema::StoreReader& store,
                                                  const std::string& model,
                                                  const std::string& metric, std::size_t count);

}  // namespace endgate::daemon
