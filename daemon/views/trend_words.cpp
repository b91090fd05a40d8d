#include "daemon/views/trend_words.h"

#include <algorithm>

#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/queries/control_words.h"
#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kSignalsListed = 12;
constexpr double kWorthNaming = 0.01;  // of a cause's probability

int decimals_at_least(const std::string& metric) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  return facts == nullptr ? 2 : facts->decimals;
}

std::string with_unit(const std::string& number, const std::string& metric) {
  return number + reports::kNoBreak + metric_unit(metric);
}

std::string metric_of(const TrendTold& told) { return std::string(told.metric->id); }

// One drift of a bench has one date and one size: those of the statement about the bench.
bool is_said_above(const TrendTold& told, const statistics::TrendCause& cause) {
  return told.side.said == statistics::ProductOrBench::Said::bench && cause.factor == "bench" &&
         cause.level == told.side.bench;
}

std::vector<std::string> cause_row(const TrendTold& told, const statistics::TrendCause& cause) {
  std::string name = cause.level.empty() ? cause.factor : cause.factor + " " + cause.level;
  for (const std::string& other : cause.inseparable) name += ", or " + other;
  std::ranges::replace(name, '_', ' ');  // parts are named as in the lots that were entered
  std::string since = reports::kMissing;
  if (cause.since_batch && *cause.since_batch < told.batches.size())
    since = told.batches[*cause.since_batch].batch + (cause.ramp ? ", growing" : "");
  if (is_said_above(told, cause))
    return {analysis::capitalised(name), "as said above", "as said above",
            analysis::say_probability(cause.probability)};
  return {analysis::capitalised(name), since, change_words(metric_of(told), cause.shift, cause.u),
          analysis::say_probability(cause.probability)};
}

// The change of level that begins at a batch; nothing when there is none.
std::string change_at(const std::string& metric, const BatchCharts& charts, std::size_t batch) {
  for (std::size_t i = 1; i < charts.levels.size(); ++i)
    if (charts.levels[i].from == batch)
      return change_words(metric, charts.levels[i].mean - charts.levels[i - 1].mean) + ", to " +
             level_words(metric, charts.levels[i].mean, 1);
  return reports::kMissing;
}

void add_numbers(std::vector<std::string>& row, const std::string& metric,
                 const BatchCharts& charts, std::size_t at) {
  row.push_back(level_number(metric, charts.means[at], 1));
  const JudgedBatch& judged = charts.control.batches[at];
  if (!judged.judged) {
    row.insert(row.end(), 4, reports::kMissing);
    return;
  }
  row.push_back(level_number(metric, judged.running, 1));
  row.push_back(size_number(metric, judged.running_half_width));
  row.push_back(reports::fixed(judged.up, 1));
  row.push_back(reports::fixed(judged.down, 1));
}

}  // namespace

std::string counted(std::size_t count, const std::string& thing) {
  const std::string plural = thing.ends_with("ch") ? thing + "es" : thing + "s";
  return reports::fixed(static_cast<double>(count), 0) + " " + (count == 1 ? thing : plural);
}

std::string level_number(const std::string& metric, double si, int more) {
  return reports::fixed(shown_value(metric, si), decimals_at_least(metric) + more);
}

std::string level_words(const std::string& metric, double si, int more) {
  return with_unit(level_number(metric, si, more), metric);
}

std::string size_number(const std::string& metric, double si) {
  return reports::fixed(shown_size(metric, si), decimals_at_least(metric) + 1);
}

std::string size_words(const std::string& metric, double si) {
  return with_unit(size_number(metric, si), metric);
}

std::string change_words(const std::string& metric, double si) {
  return with_unit(reports::with_sign(shown_size(metric, si), decimals_at_least(metric) + 1),
                   metric);
}

std::string change_words(const std::string& metric, double si, double u) {
  const double expanded = shown_size(metric, 2 * u);
  if (!(expanded > 0)) return change_words(metric, si);
  const int places = reports::decimals_of_uncertainty(expanded);
  return with_unit(
      reports::with_sign(shown_size(metric, si), places) + " ± " + reports::fixed(expanded, places),
      metric);
}

reports::WordTable cause_table(const TrendTold& told) {
  reports::WordTable table{.heading = "What changed with it",
                           .columns = {"Cause", "Since batch", "Moved by (k = 2)", "Probability"}};
  if (told.causes.none || told.causes.causes.empty()) return table;  // nothing to explain
  std::size_t unlikely = 0;
  for (const statistics::TrendCause& cause : told.causes.causes)
    if (cause.probability >= kWorthNaming)
      table.rows.push_back(cause_row(told, cause));
    else
      ++unlikely;
  if (unlikely > 0)
    table.rows.push_back({"Each of " + std::to_string(unlikely) + " others", reports::kMissing,
                          reports::kMissing, analysis::say_probability(0)});
  table.rows.push_back({"Nothing that is recorded", reports::kMissing, reports::kMissing,
                        analysis::say_probability(told.causes.probability_none)});
  return table;
}

reports::WordTable change_table(const TrendTold& told, const ChartsOfBatches& charts,
                                const std::vector<LetteredChange>& lettered) {
  reports::WordTable table{.heading = "Changes of level of the batch means",
                           .columns = {"", "From batch", "As measured"}};
  const std::string metric = metric_of(told);
  const bool both = bench_taken_out(told);
  if (both) table.columns.emplace_back("Bench effect taken out");
  for (const LetteredChange& change : lettered) {
    table.rows.push_back({change.letter, told.batches[change.batch].batch,
                          change_at(metric, charts.measured, change.batch)});
    if (both) table.rows.back().push_back(change_at(metric, charts.without_bench, change.batch));
  }
  return table;
}

reports::WordTable number_table(const TrendTold& told, const ChartsOfBatches& charts) {
  const std::string metric = metric_of(told), unit = metric_unit(metric);
  reports::WordTable table{.heading = "Numbers of the charts", .columns = {"Batch", "Units"}};
  const bool both = bench_taken_out(told);
  std::vector<std::string> sides{"as measured"};
  if (both) sides.emplace_back("bench effect taken out");
  for (const std::string& side : sides)
    for (const std::string& name :
         {"Mean, " + unit, std::string("Running mean"), std::string("± its limit"),
          std::string("Running sum up"), std::string("Running sum down")})
      table.columns.push_back(name + ", " + side);
  for (std::size_t i = charts.first; i < told.batches.size(); ++i) {
    std::vector<std::string> row{told.batches[i].batch, reports::fixed(told.batches[i].n, 0)};
    add_numbers(row, metric, charts.measured, i);
    if (both) add_numbers(row, metric, charts.without_bench, i);
    table.rows.push_back(std::move(row));
  }
  return table;
}

reports::WordTable signal_table(const TrendTold& told) {
  reports::WordTable table{.heading = "Signals of the batch means, as measured",
                           .columns = {"Batch", "Rule that is broken", "What to do next"}};
  const std::vector<ControlSignal>& signals = told.control.signals;
  const std::size_t shown = std::min(kSignalsListed, signals.size());
  for (std::size_t i = 0; i < shown; ++i) {
    const ControlSignal& signal = signals[signals.size() - 1 - i];
    table.rows.push_back(
        {told.batches[signal.batch].batch, signal_words(told, signal), next_step(signal.rule)});
  }
  if (shown < signals.size())
    table.heading +=
        ", the newest " + std::to_string(shown) + " of " + std::to_string(signals.size());
  return table;
}

}  // namespace endgate::daemon
