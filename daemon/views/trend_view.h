// One metric over tests in the words of its page.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/metric_trend.h"
#include "reports/trend_page.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct TrendAsked {
  std::string model{}, metric{};
  bool by_batch = true;
  std::size_t count = 500;
};

// `limits`: as they were held against the newest test of the model; empty when there is none.
[[nodiscard]] reports::TrendPage trend_page_of(const TrendAsked& asked, const MetricTrend& trend,
                                               const std::vector<std::string>& models,
                                               const std::vector<schema::LimitAsWas>& limits);

}  // namespace endgate::daemon
