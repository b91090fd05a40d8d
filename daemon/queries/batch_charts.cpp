#include "daemon/queries/batch_charts.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <span>

#include "analysis/statistics/change_point.h"
#include "analysis/statistics/scatter.h"
#include "analysis/sum.h"

namespace endgate::daemon {
namespace {

std::vector<BatchLevel> levels_between(std::span<const double> means,
                                       const std::vector<std::size_t>& starts) {
  std::vector<BatchLevel> levels;
  std::size_t from = 0;
  for (std::size_t i = 0; i <= starts.size(); ++i) {
    const std::size_t to = i < starts.size() ? starts[i] : means.size();
    levels.push_back({from, to, *analysis::mean_of(means.subspan(from, to - from))});
    from = to;
  }
  return levels;
}

// Correlation of neighbouring means about their levels, from 0 to 0.9.
double likeness(std::span<const double> means, const std::vector<BatchLevel>& levels) {
  analysis::Sum together, alone;
  for (const BatchLevel& level : levels)
    for (std::size_t i = level.from; i < level.to; ++i) {
      const double d = means[i] - level.mean;
      alone.add(d * d);
      if (i > level.from) together.add(d * (means[i - 1] - level.mean));
    }
  return alone.value() > 0 ? std::clamp(together.value() / alone.value(), 0.0, 0.9) : 0;
}

std::vector<BatchLevel> levels_of(std::span<const double> means) {
  if (means.empty()) return {};
  const std::vector<BatchLevel> first = levels_between(means, statistics::changes(means));
  if (first.size() < 2) return first;
  const double phi = likeness(means, first);
  const double plain = 3 * std::log(static_cast<double>(means.size()));
  return levels_between(means,
                        statistics::changes(means, {.penalty = plain * (1 + phi) / (1 - phi)}));
}

std::vector<double> column_of(const TrendTold& told, double BatchPoint::*mean) {
  std::vector<double> column;
  for (const BatchPoint& point : told.batches) column.push_back(point.*mean);
  return column;
}

BatchCharts charts_of(std::vector<double> means, const ControlTold& control) {
  BatchCharts charts{.means = std::move(means), .control = control};
  charts.levels = levels_of(charts.means);
  return charts;
}

}  // namespace

BatchCharts charts_as_measured(const TrendTold& told) {
  return charts_of(column_of(told, &BatchPoint::mean), told.control);
}

BatchCharts charts_without_bench(const TrendTold& told) {
  return charts_of(column_of(told, &BatchPoint::mean_without_bench), told.control_without_bench);
}

BatchesByBench batches_by_bench(const statistics::TestColumns& columns) {
  std::map<std::pair<int, int>, std::vector<double>> groups;
  for (std::size_t row = 0; row < columns.rows(); ++row)
    groups[{columns.batch.of_row[row], columns.bench.of_row[row]}].push_back(columns.value[row]);
  BatchesByBench out{.benches = columns.bench.levels};
  for (const auto& [key, values] : groups) {
    const statistics::Scatter scatter = statistics::scatter_of(values);
    out.means.push_back({static_cast<std::size_t>(key.first), static_cast<std::size_t>(key.second),
                         static_cast<double>(scatter.n), *scatter.mean, scatter.sigma.value_or(0)});
  }
  return out;
}

}  // namespace endgate::daemon
