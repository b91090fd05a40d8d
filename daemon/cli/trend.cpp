// `endgate trend METRIC --model MODEL`: tests, or with --batches, --chart, --causes or --bench-offset
// what their batches say

#include <algorithm>
#include <cmath>
#include <iostream>

#include "analysis/say_number.h"
#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/control_history.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/batch_charts.h"
#include "daemon/queries/batch_trend.h"
#include "daemon/queries/bench_offset.h"
#include "daemon/queries/control_words.h"
#include "daemon/queries/csv.h"
#include "daemon/queries/tests_shown.h"
#include "daemon/queries/together_told.h"
#include "daemon/queries/trend_told.h"

namespace endgate::daemon {
namespace {

constexpr int kShownDigits = 6;

std::string shown(const analysis::MetricFacts& facts, std::optional<double> si, double offset) {
  return si ? csv_number(*si * facts.factor + offset, kShownDigits) : "";
}

std::vector<TextRow> rows_of(const analysis::MetricFacts& facts,
                             const std::vector<TestRow>& tests) {
  const std::string unit = " [" + std::string(facts.display_unit) + "]";
  std::vector<TextRow> rows{{"position", "serial", "attempt", "start (UTC)", "batch", "bench",
                             "purpose", "verdict", std::string(facts.id) + unit, "u" + unit}};
  for (const auto& row : tests)
    rows.push_back({std::to_string(row.position), row.serial, std::to_string(row.attempt),
                    say_utc_minute(row.started_utc_ms), row.batch, row.bench, row.purpose,
                    row.verdict, shown(facts, row.value, facts.offset), shown(facts, row.u, 0)});
  return rows;
}

std::string signals_at(const ControlTold& control, std::size_t batch) {
  std::string names;
  for (const ControlSignal& signal : control.signals)
    if (signal.batch == batch)
      names += (names.empty() ? "" : ", ") +
               std::string(statistics::kControlRuleNames[static_cast<std::size_t>(signal.rule)]);
  return names.empty() && control.is_outside(batch) ? "outside" : names;
}

// Batches with mean, scatter, limits and running mean, and the rules that each is first to break.
std::vector<TextRow> rows_of(const TrendTold& told, bool without_bench) {
  const analysis::MetricFacts& facts = *told.metric;
  const ControlTold& control = without_bench ? told.control_without_bench : told.control;
  std::vector<TextRow> rows{{"batch", "n", "mean [" + std::string(facts.display_unit) + "]",
                             "scatter", "at least", "at most", "running mean", "± its limit",
                             "signal"}};
  for (std::size_t i = 0; i < told.batches.size(); ++i) {
    const BatchPoint& b = told.batches[i];
    const JudgedBatch& judged = control.batches[i];
    const double half = statistics::kOutside * judged.sigma;
    const auto level = [&](bool known, double si) {
      return known ? shown(facts, si, facts.offset) : "";
    };
    rows.push_back(
        {b.batch, csv_number(b.n),
         shown(facts, without_bench ? b.mean_without_bench : b.mean, facts.offset),
         b.n > 1 ? shown(facts, b.sigma, 0) : "", level(judged.has_limits, judged.centre - half),
         level(judged.has_limits, judged.centre + half), level(judged.judged, judged.running),
         judged.judged ? shown(facts, judged.running_half_width, 0) : "", signals_at(control, i)});
  }
  return rows;
}

// Where the level of the means changed; nothing when it stayed.
void tell_levels(const TrendTold& told, bool without_bench) {
  const BatchCharts charts = without_bench ? charts_without_bench(told) : charts_as_measured(told);
  if (charts.levels.size() < 2) return;
  for (const BatchLevel& level : charts.levels)
    std::cerr << "Level from batch " << told.batches[level.from].batch << " to "
              << told.batches[level.to - 1].batch << ": "
              << shown(*told.metric, level.mean, told.metric->offset) << " "
              << told.metric->display_unit << "\n";
}

// What signals by whose limits, and how often that is false.
void tell_control(const TrendTold& told, bool without_bench) {
  const ControlTold& control = without_bench ? told.control_without_bench : told.control;
  const std::string day = control.frozen() ? say_utc_minute(control.versions.back().at_utc_ms) : "";
  TrendTold charted = told;
  charted.control = control;
  std::cerr << words_of_limits(charted, day) << "\n";
  if (const std::string often = words_of_run_length(control); !often.empty())
    std::cerr << often << "\n";
  if (without_bench && !bench_taken_out(told))
    std::cerr << "No bench effect is known, so none is taken out: the means are those measured.\n";
  tell_levels(told, without_bench);
  for (const ControlSignal& signal : control.signals)
    std::cerr << "Batch " << told.batches[signal.batch].batch << ": " << signal_words(told, signal)
              << ". " << next_step(signal.rule) << "\n";
}

std::vector<TextRow> cause_rows(const TrendTold& told) {
  const analysis::MetricFacts& facts = *told.metric;
  std::vector<TextRow> rows{{"cause", "since batch",
                             "shift [" + std::string(facts.display_unit) + "]", "u", "p, adjusted",
                             "probability"}};
  for (const statistics::TrendCause& cause : told.causes.causes)
    rows.push_back({cause.factor + " " + cause.level,
                    cause.since_batch ? told.batches[*cause.since_batch].batch : "",
                    shown(facts, cause.shift, 0), shown(facts, cause.u, 0),
                    csv_number(cause.p_adjusted, 2), csv_number(cause.probability, 2)});
  rows.push_back({"none", "", "", "", "", csv_number(told.causes.probability_none, 2)});
  return rows;
}

std::vector<TextRow> offset_rows(const TrendTold& told, const std::vector<BenchOffset>& offsets) {
  const analysis::MetricFacts& facts = *told.metric;
  const std::string unit = " [" + std::string(facts.display_unit) + "]";
  std::vector<TextRow> rows{{"batch"}};
  for (const BenchOffset& offset : offsets) {
    rows.front().push_back(offset.bench + unit);
    rows.front().push_back("u" + unit);
  }
  const std::size_t first = told.side.first_batch;
  for (std::size_t i = first; i < told.batches.size(); ++i) {
    TextRow row{told.batches[i].batch};
    for (const BenchOffset& offset : offsets) {
      row.push_back(shown(facts, offset.batches[i - first].drift, 0));
      row.push_back(shown(facts, offset.batches[i - first].u, 0));
    }
    rows.push_back(std::move(row));
  }
  return rows;
}

int tell_offsets(const TrendTold& told) {
  const std::vector<BenchOffset> offsets = bench_offsets(told);
  if (offsets.empty()) {
    std::cerr << sentence_of_side(told) << "\n";
    return kNegative;
  }
  write_table(offset_rows(told, offsets), std::cout);
  for (const BenchOffset& offset : offsets) std::cerr << words_of(told, offset) << "\n";
  return kOk;
}

// Every batch from its values: what a chart is drawn from, without asking why.
std::vector<TextRow> rows_of(const analysis::MetricFacts& facts,
                             const std::vector<statistics::BatchSummary>& batches) {
  std::vector<TextRow> rows{{"batch", "n", "mean [" + std::string(facts.display_unit) + "]",
                             "scatter", "1 % below", "half below", "99 % below", "running mean"}};
  const auto level = [&](double si) { return shown(facts, si, facts.offset); };
  for (const statistics::BatchSummary& b : batches)
    rows.push_back({b.batch, std::to_string(b.n), level(b.mean),
                    b.n > 1 ? shown(facts, b.sigma, 0) : "", level(b.p1), level(b.p50),
                    level(b.p99), level(b.running_mean)});
  return rows;
}

int list_batches(const TrendCommand& command, const schema::StoreReader& store,
                 const TrendFilter& filter) {
  const std::string& metric = command.asked.metric;
  write_table(rows_of(*analysis::facts_of_metric(metric), batch_trend(store, filter, metric)),
              std::cout);
  std::cerr << "Tests without a batch are not listed.\n";
  return kOk;
}

int tell_batches(const TrendCommand& command, const schema::StoreReader& store,
                 const TrendFilter& filter) {
  const std::string& metric = command.asked.metric;
  const TrendTold told = *told_of(store, filter, metric, control_versions(store, filter, metric));
  const bool without_bench = command.bench_effect == "out";
  if (command.chart) write_table(rows_of(told, without_bench), std::cout);
  if (command.causes) {
    std::cout << sentence_of_side(told) << "\n" << sentence_of_causes(told) << "\n";
    if (told.causes.refusal.empty()) write_table(cause_rows(told), std::cout);
  }
  std::cerr << told.tests << (told.tests == 1 ? " test" : " tests") << " of a batch\n";
  if (told.without_batch > 0) std::cerr << sentence_without_batch(told) << "\n";
  if (told.far > 0) std::cerr << sentence_of_far(told) << "\n";
  if (command.chart) tell_control(told, without_bench);
  return kOk;
}

std::vector<TextRow> rows_of(const TogetherTold& told) {
  std::vector<TextRow> rows{{"batch", "n", "distance", "its limit", "signal"}};
  for (const std::string& metric : told.metrics) rows.front().push_back(metric + ", sd from mean");
  for (std::size_t i = 0; i < told.joint.batches.size(); ++i) {
    const statistics::JointBatch& batch = told.joint.batches[i];
    TextRow row{told.names[i], csv_number(batch.n), csv_number(batch.distance, 4),
                csv_number(told.joint.limit, 4), batch.distance > told.joint.limit ? "*" : ""};
    for (const double deviation : batch.deviations) row.push_back(csv_number(deviation, 3));
    rows.push_back(std::move(row));
  }
  return rows;
}

int tell_together(const TrendCommand& command, const schema::StoreReader& store,
                  const TrendFilter& filter) {
  const MetricList metrics = metrics_together(command.asked.metric, command.together);
  if (const auto* wrong = std::get_if<std::string>(&metrics)) {
    std::cerr << *wrong << "\n";
    return kUsage;
  }
  const TogetherTold told = together_of(store, filter, std::get<std::vector<std::string>>(metrics));
  if (!told.refusal.empty()) {
    std::cerr << told.refusal << "\n";
    return kNegative;
  }
  write_table(rows_of(told), std::cout);
  std::cerr << sentence_of(told) << "\n";
  for (const std::size_t at : signals_of(told))
    std::cerr << "Batch " << told.names[at] << ": " << words_of_batch(told, at) << "\n";
  std::cerr << "One false signal in " << std::lround(1 / statistics::kJointFalseAlarm)
            << " batches is expected when nothing moves.\n";
  return kOk;
}

int list_tests(const TrendCommand& command, const schema::StoreReader& store,
               const TrendFilter& filter) {
  const analysis::MetricFacts& facts = *analysis::facts_of_metric(command.asked.metric);
  const TestsShown shown_tests = tests_shown(store, filter, command.asked.metric, command.count);
  write_table(rows_of(facts, shown_tests.rows), std::cout);
  std::cerr << shown_tests.matching << " with a value, the newest " << shown_tests.rows.size()
            << " shown";
  if (shown_tests.sigma)
    std::cerr << "; of all, mean " << shown(facts, shown_tests.mean, facts.offset) << ", scatter "
              << shown(facts, shown_tests.sigma, 0) << " " << facts.display_unit;
  std::cerr << "\n";
  return kOk;
}

}  // namespace

int run_command(const TrendCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto filter = filter_asked(store, command.asked);
  if (!filter) return kUsage;
  std::cerr << analysis::facts_of_metric(command.asked.metric)->name << ", model "
            << command.asked.model << ", " << words_of(command.asked) << "\n";
  if (!command.together.empty()) return tell_together(command, store, *filter);
  if (command.bench_offset) return tell_offsets(*told_of(store, *filter, command.asked.metric));
  if (command.chart || command.causes) return tell_batches(command, store, *filter);
  if (command.batches) return list_batches(command, store, *filter);
  return list_tests(command, store, *filter);
}

}  // namespace endgate::daemon
