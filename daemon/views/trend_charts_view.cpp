#include "daemon/views/trend_charts_view.h"

#include <algorithm>
#include <limits>
#include <ranges>

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
  [[nodiscard]] const ControlTold& control() const { return charts.control; }
};

constexpr double kAlone = 1220;  // width of a chart without its counterpart
constexpr double kGap = std::numeric_limits<double>::quiet_NaN();

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

std::string no_limits(const Side& side) { return side.words + ": there are no limits."; }

bool has_limits(const Side& side) {
  return std::ranges::any_of(side.control().batches, &JudgedBatch::has_limits);
}

// Each batch with what `shown` makes of it, or a gap where it has no limits or was not judged.
template <class Shown>
void draw_batches(const Ground& ground, const Side& side, reports::BatchChart& chart, Shown shown) {
  const ControlTold& control = side.control();
  for (std::size_t i = ground.first; i < control.batches.size(); ++i) {
    shown(chart, control.batches[i], i);
    if (i > ground.first && control.batches[i].version != control.batches[i - 1].version)
      chart.breaks.push_back(i - ground.first);
  }
}

void add_limits(reports::BatchChart& chart, double low, double high, double centre) {
  chart.low.push_back(low);
  chart.high.push_back(high);
  chart.centres.push_back(centre);
}

std::vector<std::size_t> outside(const ControlTold& control) {
  std::vector<std::size_t> at;
  for (std::size_t i = 0; i < control.batches.size(); ++i)
    if (control.is_outside(i)) at.push_back(i);
  return at;
}

std::string means_sentence(const Ground& ground, const Side& side) {
  const std::vector<std::size_t> beyond = outside(side.control());
  const auto judged =
      static_cast<std::size_t>(std::ranges::count_if(side.control().batches, &JudgedBatch::judged));
  if (judged == 0) return side.words + ": no batch behind these limits yet.";
  std::string text = side.words + ": ";
  if (!side.control().rules.has(statistics::ControlRule::outside))
    text += "single means are not judged; the rule is not in force.";
  else if (beyond.empty())
    text += (judged == 1 ? "the one judged" : "all " + std::to_string(judged) + " judged") +
            std::string(" inside the limits.");
  else
    text += std::to_string(beyond.size()) + " of " + counted(judged, "mean") +
            " outside: " + ground.names(beyond) + ".";
  const std::vector<std::size_t> runs =
      side.control().signals_of(statistics::ControlRule::one_side);
  if (!runs.empty()) text += " Nine in a row on one side: at batch " + ground.names(runs) + ".";
  return text;
}

// Named by the limits of the newest batch that has some.
std::string limit_words_of(const Ground& ground, const Side& side) {
  for (const JudgedBatch& batch : std::views::reverse(side.control().batches))
    if (batch.has_limits)
      return " Limits of the newest: " +
             level_number(ground.metric, batch.centre - statistics::kOutside * batch.sigma, 1) +
             " to " +
             level_words(ground.metric, batch.centre + statistics::kOutside * batch.sigma, 1) + ".";
  return "";
}

Half means_half(const Ground& ground, const Side& side) {
  reports::BatchChart chart = ground.chart(side, metric_unit(ground.metric));
  for (std::size_t i = ground.first; i < side.charts.means.size(); ++i)
    chart.values.push_back(ground.level(side.charts.means[i]));
  if (!has_limits(side)) return {no_limits(side), chart};
  draw_batches(ground, side, chart, [&](auto& into, const JudgedBatch& batch, std::size_t) {
    if (!batch.has_limits) return add_limits(into, kGap, kGap, kGap);
    const double half = statistics::kOutside * batch.sigma;
    add_limits(into, ground.level(batch.centre - half), ground.level(batch.centre + half),
               ground.level(batch.centre));
  });
  ground.signal(chart, outside(side.control()));
  ground.signal(chart, side.control().signals_of(statistics::ControlRule::two_of_three));
  ground.signal(chart, side.control().signals_of(statistics::ControlRule::one_side));
  chart.description = means_sentence(ground, side) + limit_words_of(ground, side);
  return {chart.description, chart};
}

std::string signals_words(const Ground& ground, const Side& side, statistics::ControlRule rule) {
  if (!side.control().rules.has(rule)) return side.words + ": not among the rules in force.";
  const std::vector<std::size_t> signals = side.control().signals_of(rule);
  if (signals.empty()) return side.words + ": no signal.";
  return side.words + ": signal at batch " + ground.names(signals) + ".";
}

Half running_half(const Ground& ground, const Side& side) {
  reports::BatchChart chart = ground.chart(side, metric_unit(ground.metric));
  if (!has_limits(side)) return {no_limits(side), chart};
  draw_batches(ground, side, chart, [&](auto& into, const JudgedBatch& batch, std::size_t) {
    into.values.push_back(batch.judged ? ground.level(batch.running) : kGap);
    if (!batch.judged) return add_limits(into, kGap, kGap, kGap);
    add_limits(into, ground.level(batch.centre - batch.running_half_width),
               ground.level(batch.centre + batch.running_half_width), ground.level(batch.centre));
  });
  ground.signal(chart, side.control().signals_of(statistics::ControlRule::running_mean));
  chart.description = signals_words(ground, side, statistics::ControlRule::running_mean);
  return {chart.description, chart};
}

// Downwards below zero, so that both sides have their own half of the picture.
Half sum_half(const Ground& ground, const Side& side) {
  reports::BatchChart chart = ground.chart(side, "Standard deviations of a mean");
  if (!has_limits(side)) return {no_limits(side), chart};
  draw_batches(ground, side, chart, [&](auto& into, const JudgedBatch& batch, std::size_t) {
    into.values.push_back(batch.judged ? batch.up : kGap);
    into.other.push_back(batch.judged ? -batch.down : kGap);
    const double bound = batch.judged ? statistics::kSumBound : kGap;
    add_limits(into, -bound, bound, batch.judged ? 0 : kGap);
  });
  ground.signal(chart, side.control().signals_of(statistics::ControlRule::running_sum));
  chart.description = signals_words(ground, side, statistics::ControlRule::running_sum);
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

// Of one rule alone; of all in force together it is said once, above.  Where that is not told for
// want of batches, this is not either.
std::string false_signals(const TrendTold& told, double run_length) {
  if (!told.control.run_length.told()) return "";
  return " Alone, one false signal in " + reports::fixed(run_length, 0) +
         " batches when nothing moves.";
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
  const bool both = bench_taken_out(told);
  const auto pair_by = [&](auto half, reports::ChartPair pair) {
    pair.measured = half(ground, measured);
    if (both)
      pair.without_bench = half(ground, without);
    else
      pair.measured.chart.width = kAlone;
    align(pair);
    return pair;
  };
  std::vector<reports::ChartPair> pairs{pair_by(
      means_half,
      {.heading = "Batch means",
       .short_name = "Individuals chart (X) of batch means",
       .words = has_limits(measured)
                    ? "Shaded: 3 standard deviations of a mean of so many units about the centre, "
                      "as batches differ anyway. In a ring: outside, or a run. Dash-dotted: change "
                      "of level."
                    : "Dash-dotted: change of level."})};
  if (!has_limits(measured)) return pairs;
  pairs.push_back(
      pair_by(running_half, {.heading = "Running mean",
                             .short_name = "EWMA, lambda 0.1",
                             .words = "Each batch counts one tenth, all before it nine tenths." +
                                      false_signals(told, statistics::running_mean_run_length(
                                                              statistics::kRunningWeight,
                                                              statistics::kRunningWidth, 0))}));
  pairs.push_back(pair_by(
      sum_half,
      {.heading = "Running sum",
       .short_name = "CUSUM, k 0.5, h 4.77",
       .words = "What means lie above (solid) or below (dashed) the middle by more than half a "
                "standard deviation, added up." +
                false_signals(told, statistics::running_sum_run_length(
                                        statistics::kSumAllowance, statistics::kSumBound, 0))}));
  return pairs;
}

}  // namespace endgate::daemon
