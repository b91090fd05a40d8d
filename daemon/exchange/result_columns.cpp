#include "daemon/exchange/result_columns.h"

namespace endgate::daemon {
namespace {

using analysis::MetricFacts;

MetricColumn column_of(const MetricFacts& metric, bool is_u, ResultUnits units) {
  const bool si = units == ResultUnits::si;
  const std::string unit(si ? metric.si_unit : metric.display_unit);
  return {.name = std::string(metric.id) + (is_u ? ".u [" : " [") + unit + "]",
          .metric = metric.id,
          .is_u = is_u,
          .factor = si ? 1 : metric.factor,
          .offset = si || is_u ? 0 : metric.offset};
}

}  // namespace

std::vector<MetricColumn> metric_columns(ResultUnits units) {
  std::vector<MetricColumn> columns;
  for (const MetricFacts& metric : analysis::kMetricFacts)
    for (const bool is_u : {false, true}) columns.push_back(column_of(metric, is_u, units));
  return columns;
}

}  // namespace endgate::daemon
