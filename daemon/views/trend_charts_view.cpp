#include "daemon/views/trend_charts_view.h"

#include <algorithm>

#include "analysis/statistics/run_length.h"
#include "daemon/views/shown.h"
#include "daemon/views/trend_words.h"

namespace endgate::daemon {
namespace {

using Half = reports::ChartPair::Half;

struct Side {
  const BatchCharts& charts;
  std::string words;  // "As measured"
  std::vector<reports::ChangeMark> changes;
};

struct Ground {
  std::string metric;
  const TrendTold& told;
  std::size_t first;

  [[nodiscard]] double level(double si) const { return shown_value(metric, si); }
  [[nodiscard]] reports::BatchChart chart(const Side& side, const std::string& unit) const {
    reports::BatchChart chart{.unit = unit, .changes = side.changes};
    for (std::size_t i = first; i < told.batches.size(); ++i)
      chart.names.push_back({static_cast<double>(i - first), told.batches[i].batch});
    return chart;
  }
  void signal(reports::BatchChart& chart, const std::vector<std::size_t>& batches) const {
    for (const std::size_t at : batches)
      if (at >= first) chart.signals.push_back(at - first);
  }
  // "18-B1, 19-B1 and 3 more"
  [[nodiscard]] std::string names(const std::vector<std::size_t>& batches) const {
    constexpr std::size_t kNamed = 6;
    std::string all;
    for (std::size_t i = 0; i < std::min(kNamed, batches.size()); ++i)
      all += (i == 0 ? "" : ", ") + told.batches[batches[i]].batch;
    if (batches.size() > kNamed) all += " and " + std::to_string(batches.size() - kNamed) + " more";
    return all;
  }
};

std::string no_limits(const Side& side) {
  return side.words + ": limits need two batches that differ.";
}

Half means_half(const Ground& ground, const Side& side) {
  reports::BatchChart chart = ground.chart(side, metric_unit(ground.metric));
  const BatchCharts& charts = side.charts;
  for (std::size_t i = ground.first; i < charts.means.size(); ++i)
    chart.values.push_back(ground.level(charts.means[i]));
  if (!charts.limits) return {no_limits(side), chart};
  const statistics::ChartLimits& limits = *charts.limits;
  chart.low.assign(chart.values.size(), ground.level(limits.lower));
  chart.high.assign(chart.values.size(), ground.level(limits.upper));
  chart.centre = ground.level(limits.centre);
  ground.signal(chart, charts.beyond);
  const std::string span = level_number(ground.metric, limits.lower, 1) + " to " +
                           level_words(ground.metric, limits.upper, 1);
  std::string sentence = side.words + ": ";
  if (charts.beyond.empty())
    sentence += "all means lie inside " + span + ".";
  else
    sentence += std::to_string(charts.beyond.size()) + " of " +
                counted(charts.means.size(), "mean") + " outside " + span + ": " +
                ground.names(charts.beyond) + ".";
  chart.description = sentence;
  return {sentence, chart};
}

std::string signals_words(const Ground& ground, const Side& side,
                          const std::vector<std::size_t>& signals) {
  if (signals.empty()) return side.words + ": no signal.";
  return side.words + ": signal at batch " + ground.names(signals) + ".";
}

Half running_half(const Ground& ground, const Side& side) {
  reports::BatchChart chart = ground.chart(side, metric_unit(ground.metric));
  const BatchCharts& charts = side.charts;
  if (!charts.limits) return {no_limits(side), chart};
  const double centre = charts.limits->centre;
  for (std::size_t i = ground.first; i < charts.means.size(); ++i) {
    chart.values.push_back(ground.level(charts.running.mean[i]));
    chart.low.push_back(ground.level(centre - charts.running.half_width[i]));
    chart.high.push_back(ground.level(centre + charts.running.half_width[i]));
  }
  chart.centre = ground.level(centre);
  ground.signal(chart, charts.running_signals);
  chart.description = signals_words(ground, side, charts.running_signals);
  return {chart.description, chart};
}

// Downwards below zero, so that both sides have their own half of the picture.
Half sum_half(const Ground& ground, const Side& side) {
  reports::BatchChart chart = ground.chart(side, "Standard deviations of a mean");
  const BatchCharts& charts = side.charts;
  if (!charts.limits) return {no_limits(side), chart};
  for (std::size_t i = ground.first; i < charts.means.size(); ++i) {
    chart.values.push_back(charts.sum.up[i]);
    chart.other.push_back(-charts.sum.down[i]);
  }
  chart.low.assign(chart.values.size(), -kSumLimit);
  chart.high.assign(chart.values.size(), kSumLimit);
  chart.centre = 0;
  ground.signal(chart, charts.sum_signals);
  chart.description = signals_words(ground, side, charts.sum_signals);
  return {chart.description, chart};
}

// Both halves of a pair on one scale.
void align(reports::ChartPair& pair) {
  const reports::Span left = span_of(pair.measured.chart),
                      right = span_of(pair.without_bench.chart);
  if (pair.measured.chart.values.empty() || pair.without_bench.chart.values.empty()) return;
  pair.measured.chart.at_least = right;
  pair.without_bench.chart.at_least = left;
}

std::string false_signals(double run_length) {
  return "One false signal in " + reports::fixed(run_length, 0) +
         " batches is expected when nothing moves.";
}

}  // namespace

ChartsOfBatches charts_of(const TrendTold& told) {
  const std::size_t all = told.batches.size();
  return {charts_as_measured(told), charts_without_bench(told), all - std::min(all, kBatchesDrawn)};
}

std::vector<LetteredChange> lettered_changes(const ChartsOfBatches& charts) {
  std::vector<std::size_t> at;
  for (const BatchCharts* each : {&charts.measured, &charts.without_bench})
    for (std::size_t i = 1; i < each->levels.size(); ++i) at.push_back(each->levels[i].from);
  std::ranges::sort(at);
  at.erase(std::unique(at.begin(), at.end()), at.end());
  std::vector<LetteredChange> lettered;
  for (const std::size_t batch : at)
    lettered.push_back({batch, std::string(1, static_cast<char>('A' + lettered.size() % 26))});
  return lettered;
}

std::vector<reports::ChangeMark> change_marks(const std::vector<LetteredChange>& lettered,
                                              const BatchCharts& charts, std::size_t first) {
  std::vector<reports::ChangeMark> marks;
  for (const LetteredChange& change : lettered)
    if (change.batch >= first &&
        std::ranges::find(charts.levels, change.batch, &BatchLevel::from) != charts.levels.end())
      marks.push_back({static_cast<double>(change.batch - first) - 0.5, change.letter});
  return marks;
}

std::vector<reports::ChartPair> chart_pairs(const TrendTold& told, const ChartsOfBatches& charts) {
  const Ground ground{std::string(told.metric->id), told, charts.first};
  const std::vector<LetteredChange> lettered = lettered_changes(charts);
  const Side measured{charts.measured, "As measured",
                      change_marks(lettered, charts.measured, charts.first)};
  const Side without{charts.without_bench, "Bench effect taken out",
                     change_marks(lettered, charts.without_bench, charts.first)};
  std::vector<reports::ChartPair> pairs{
      {.heading = "Batch means",
       .short_name = "Individuals chart (X) of batch means",
       .words =
           "Shaded: 3 standard deviations about the mean, as neighbouring batches differ. In a "
           "ring: outside. Dash-dotted: change of level.",
       .measured = means_half(ground, measured),
       .without_bench = means_half(ground, without)},
      {.heading = "Running mean",
       .short_name = "EWMA, lambda 0.1",
       .words = "Each batch counts one tenth, all before it nine tenths. " +
                false_signals(told.promised_run_length),
       .measured = running_half(ground, measured),
       .without_bench = running_half(ground, without)},
      {.heading = "Running sum",
       .short_name = "CUSUM, k 0.5, h 4.77",
       .words = "What means lie above (solid) or below (dashed) the middle by more than half a "
                "standard deviation, added up. " +
                false_signals(statistics::running_sum_run_length(kSumSlack, kSumLimit, 0)),
       .measured = sum_half(ground, measured),
       .without_bench = sum_half(ground, without)}};
  for (reports::ChartPair& pair : pairs) align(pair);
  return pairs;
}

}  // namespace endgate::daemon
