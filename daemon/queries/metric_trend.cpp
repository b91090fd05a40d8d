#include "daemon/queries/metric_trend.h"

#include <cmath>
#include <span>

#include "analysis/sum.h"

namespace endgate::daemon {
namespace {

using Row = schema::StoreReader::TrendRow;

std::vector<double> values_that_count(std::span<const Row> rows) {
  std::vector<double> values;
  for (const Row& row : rows)
    if (row.value && row.verdict != "void") values.push_back(*row.value);
  return values;
}

std::optional<double> sigma_of(std::span<const double> values, double mean) {
  if (values.size() < 2) return std::nullopt;
  const double square = analysis::sum_over(
      values.size(), [&](std::size_t i) { return (values[i] - mean) * (values[i] - mean); });
  return std::sqrt(square / static_cast<double>(values.size() - 1));
}

}  // namespace

std::optional<MetricTrend> trend_of(const schema::StoreReader& store, const std::string& model,
                                    const std::string& metric, std::size_t count) {
  MetricTrend trend;
  trend.metric = analysis::facts_of_metric(metric);
  if (trend.metric == nullptr) return std::nullopt;
  trend.model = model;
  trend.rows = store.trend(model, metric, count);
  const std::vector<double> values = values_that_count(trend.rows);
  trend.valued = values.size();
  trend.mean_si = analysis::mean_of(values);
  if (trend.mean_si) trend.sigma_si = sigma_of(values, *trend.mean_si);
  return trend;
}

}  // namespace endgate::daemon
