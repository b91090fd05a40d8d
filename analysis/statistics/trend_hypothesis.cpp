#include "analysis/statistics/trend_hypothesis.h"

#include <algorithm>

namespace endgate::statistics {
namespace {

using Hypotheses = std::vector<TrendHypothesis>;

// A lot of its own for every unit would make as many hypotheses as there are units, none of which
// could ever stand out.
std::vector<bool> looked_at(const Factor& factor) {
  std::vector<bool> all(factor.levels.size(), true);
  if (all.size() <= kMostLevelsOfCause) return all;
  std::vector<std::size_t> tests(all.size(), 0), order(all.size());
  for (const int level : factor.of_row)
    if (level >= 0) ++tests[static_cast<std::size_t>(level)];
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::ranges::stable_sort(order,
                           [&](std::size_t a, std::size_t b) { return tests[a] > tests[b]; });
  for (std::size_t i = kMostLevelsOfCause; i < order.size(); ++i) all[order[i]] = false;
  return all;
}

void add_levels(Hypotheses& all, const TestColumns& columns) {
  for (std::size_t f = 0; f < columns.causes.size(); ++f) {
    const Factor& factor = columns.causes[f];
    const std::vector<bool> looked = looked_at(factor);
    // Of two levels the first is what the second is compared with.
    const std::size_t first = factor.levels.size() == 2 ? 1 : 0;
    for (std::size_t level = factor.levels.size(); level-- > first;)
      if (looked[level])
        all.push_back({.cause = {.factor = factor.name, .level = factor.levels[level]},
                       .family = factor.name,
                       .factor = f,
                       .level = static_cast<int>(level)});
  }
}

void add_times(Hypotheses& all, const TestColumns& columns,
               const std::optional<std::vector<std::string>>& benches) {
  const std::size_t batches = columns.batch.levels.size();
  const auto add = [&](const std::string& family, const std::string& level, int bench) {
    for (std::size_t since = kEdgeOfCause; since + kEdgeOfCause <= batches; ++since)
      for (const bool ramp : {false, true})
        all.push_back(
            {.cause = {.factor = family, .level = level, .since_batch = since, .ramp = ramp},
             .family = family,
             .bench = bench});
  };
  if (columns.bench.levels.size() > 1)
    for (std::size_t b = 0; b < columns.bench.levels.size(); ++b)
      if (!benches || std::ranges::find(*benches, columns.bench.levels[b]) != benches->end())
        add("bench", columns.bench.levels[b], static_cast<int>(b));
  add("product", "", -1);
}

// 0 before batch `since`, then 1, or rising to 1 at the last batch.
double since_then(const Cell& cell, std::size_t since, bool ramp, std::size_t batches) {
  const double after = cell.batch - static_cast<double>(since);
  if (after < 0) return 0;
  return ramp ? (after + 1) / static_cast<double>(batches - since) : 1;
}

}  // namespace

Eigen::VectorXd TrendHypothesis::x(const std::vector<Cell>& cells, std::size_t batches) const {
  Eigen::VectorXd column(static_cast<Eigen::Index>(cells.size()));
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const Cell& c = cells[i];
    double value = 0;
    if (level >= 0)
      value = c.levels[factor] == level ? 1 : 0;
    else if (bench < 0 || c.bench == bench)
      value = since_then(c, cause.since_batch.value_or(0), cause.ramp, batches);
    column(static_cast<Eigen::Index>(i)) = value;
  }
  return column;
}

std::vector<TrendHypothesis> trend_hypotheses(
    const TestColumns& columns, const std::optional<std::vector<std::string>>& benches) {
  Hypotheses all;
  add_levels(all, columns);
  add_times(all, columns, benches);
  return all;
}

}  // namespace endgate::statistics
