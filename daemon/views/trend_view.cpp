#include "daemon/views/trend_view.h"

#include <algorithm>

#include "daemon/definitions/date.h"
#include "daemon/queries/control_words.h"
#include "daemon/views/index_in.h"
#include "daemon/views/offset_charts.h"
#include "daemon/views/shown.h"
#include "daemon/views/together_view.h"
#include "daemon/views/trend_words.h"

namespace endgate::daemon {
namespace {

using Row = TestRow;

constexpr std::size_t kUnitsNamed = 6;

void add_limit(reports::TrendChart& chart, const std::string& metric, const HeldLast& limit) {
  const HeldLimit lower{.metric = metric, .lower = limit.bounds.lower};
  const HeldLimit upper{.metric = metric, .upper = limit.bounds.upper};
  if (lower.lower) chart.lower = shown_value(metric, *lower.lower);
  if (upper.upper) chart.upper = shown_value(metric, *upper.upper);
  if (lower.lower) chart.lower_words = "lower limit, " + limit_words(lower);
  if (upper.upper) chart.upper_words = "upper limit, " + limit_words(upper);
  chart.guard = shown_size(metric, limit.pass_band);
}

reports::TrendPage page_about(const TrendContext& context, const std::string& by) {
  reports::TrendPage page;
  page.heading = metric_name(context.asked.metric) + ", model " + context.asked.model;
  page.form = trend_form(context.asked, context.known, by, context.together_words);
  page.chart.unit = metric_unit(context.asked.metric);
  page.more_words = "All metrics of this model against their limits, reasons, another limit";
  page.more_href = address_of("/population", context.asked);
  page.questions = {
      {"How much of its scatter is the measurement",
       "/gauge?model=" + address_part(context.asked.model) +
           "&metric=" + address_part(context.asked.metric)},
      {"What a data sheet of this model may promise",
       "/rating?model=" + address_part(context.asked.model)},
      {"Frozen control limits", "/control?model=" + address_part(context.asked.model) +
                                    "&metric=" + address_part(context.asked.metric)}};
  if (context.limit) add_limit(page.chart, context.asked.metric, *context.limit);
  return page;
}

std::string none_matches(const TestsAsked& asked) {
  return "No test of " + asked.model + " with this metric matches: " + words_of(asked) +
         ". Widen the span, or choose another bench or purpose.";
}

std::string scatter_words(const TestsAsked& asked, const TestsShown& shown) {
  std::string text = counted(shown.matching, "test") + ", " + words_of(asked);
  if (shown.mean) text += "; mean " + level_words(asked.metric, *shown.mean, 0);
  if (shown.sigma)
    text += ", standard deviation of one test " + size_words(asked.metric, *shown.sigma);
  text += ".";
  if (shown.rows.size() < shown.matching)
    text += " The newest " + std::to_string(shown.rows.size()) + " are drawn.";
  return text;
}

void add_unit(reports::TrendPage& page, const std::string& metric, const Row& row) {
  const HeldLimit held{.metric = metric, .value = row.value, .u = row.u};
  const double value = shown_value(metric, *row.value);
  const double expanded = shown_size(metric, 2 * row.u.value_or(0));
  const double place = static_cast<double>(page.chart.spots.size());
  const reports::WrittenReading written = written_value(held);
  const std::string href = "/units/" + address_part(row.serial) + "/" + std::to_string(row.attempt);
  page.chart.spots.push_back({.place = place,
                              .bench = index_in(page.chart.benches, row.bench),
                              .value = value,
                              .low = value - expanded,
                              .high = value + expanded,
                              .said = row.serial + ", bench " + row.bench + ", " + row.verdict +
                                      ": " + written.text(metric_unit(metric)),
                              .href = href,
                              .verdict = row.verdict});
  page.chart.names.push_back({place, row.serial});
  page.rows.push_back({row.serial, row.bench, "1", written.value, written.u, href});
}

void add_bench_batch(reports::TrendPage& page, const TrendContext& context, const TrendTold& told,
                     const BenchBatch& group, std::size_t first) {
  const std::string& metric = context.asked.metric;
  const std::string& batch = told.batches[group.batch].batch;
  const std::string& bench = page.chart.benches[group.bench];
  const double mean = shown_value(metric, group.mean);
  const double spread = shown_size(metric, 1.96 * group.sigma);
  TestsAsked units = context.asked;
  units.batch = batch;
  const std::string href = address_of(kTrendAddress, units) + "&by=unit";
  const std::string value = level_number(metric, group.mean, 0);
  page.chart.spots.push_back({.place = static_cast<double>(group.batch - first),
                              .bench = group.bench,
                              .value = mean,
                              .low = mean - spread,
                              .high = mean + spread,
                              .said = "Batch " + batch + ", bench " + bench + ": mean " +
                                      level_words(metric, group.mean, 0) + " of " +
                                      counted(static_cast<std::size_t>(group.n), "unit"),
                              .href = href,
                              .verdict = ""});
  page.rows.push_back({batch, bench, reports::fixed(group.n, 0), value,
                       group.n > 1 ? size_number(metric, 1.96 * group.sigma) : reports::kMissing,
                       href});
}

std::string counts_words(const TrendContext& context, const TrendTold& told, std::size_t first) {
  std::string text = counted(told.tests, "test") + " in " + counted(told.batches.size(), "batch") +
                     ", " + words_of(context.asked) + ".";
  if (told.without_batch > 0) text += " " + sentence_without_batch(told);
  if (told.far > 0) text += " " + sentence_of_far(told);
  if (first > 0)
    text += " The newest " + std::to_string(told.batches.size() - first) + " batches are drawn.";
  return text;
}

void add_batches(reports::TrendPage& page, const TrendContext& context, const TrendTold& told,
                 const BatchesByBench& by_bench, std::size_t first) {
  page.chart.benches = by_bench.benches;
  for (const BenchBatch& group : by_bench.means)
    if (group.batch >= first) add_bench_batch(page, context, told, group, first);
  for (std::size_t i = first; i < told.batches.size(); ++i) {
    page.chart.names.push_back({static_cast<double>(i - first), told.batches[i].batch});
    page.chart.line.push_back(
        shown_value(context.asked.metric, told.batches[i].mean_without_bench));
  }
}

// Single units behind the newest frozen limits, against what one unit may differ by.
std::string unit_limits_words(const TestsAsked& asked, const ControlVersion& frozen,
                              const std::vector<Row>& rows) {
  const double half = statistics::kOutside * frozen.limits.sigma_of_unit();
  const double low = frozen.limits.centre - half, high = frozen.limits.centre + half;
  std::vector<std::string> outside;
  std::size_t judged = 0;
  for (const Row& row : rows) {
    if (!row.value || row.position <= frozen.behind_position) continue;
    ++judged;
    if (*row.value < low || *row.value > high) outside.push_back(row.serial);
  }
  std::string text = "Control limits of one unit, version " + std::to_string(frozen.version) +
                     ": " + level_number(asked.metric, low, 0) + " to " +
                     level_words(asked.metric, high, 0) + ". Of " + counted(judged, "test") +
                     " behind them " + std::to_string(outside.size()) + " outside";
  for (std::size_t i = 0; i < std::min(kUnitsNamed, outside.size()); ++i)
    text += (i == 0 ? ": " : ", ") + outside[outside.size() - 1 - i];
  return text + (outside.size() > kUnitsNamed ? " and older ones." : ".");
}

std::string frozen_day(const ControlTold& control) {
  return control.frozen() ? say_date(day_of(control.versions.back().at_utc_ms)) : "";
}

}  // namespace

reports::QuestionForm trend_form(const TestsAsked& asked, const TestsKnown& known,
                                 const std::string& by, const std::string& together) {
  reports::QuestionForm form{.action = kTrendAddress};
  form.fields = fields_of(asked, known);
  form.fields.insert(form.fields.begin() + 1, metric_field(asked.metric));
  form.fields.push_back({.name = "by",
                         .caption = "Shown by",
                         .value = by,
                         .choices = {{"batch", "batch"}, {"unit", "unit"}}});
  form.fields.push_back({.name = "together",
                         .caption = "Together with",
                         .value = together,
                         .example = "curve, or current_600 speed_600"});
  return form;
}

reports::TrendPage unit_trend_page(const TrendContext& context, const TestsShown& shown) {
  reports::TrendPage page = page_about(context, "unit");
  page.chart.place_title = "Unit, in order of test";
  page.key_words = "unit";
  page.ring_words = "In a ring: failed or undecided. Whisker: ± U, k = 2.";
  page.whisker_title = "± U, k = 2";
  page.statements = {shown.matching == 0 ? none_matches(context.asked)
                                         : scatter_words(context.asked, shown)};
  if (context.frozen)
    page.statements.push_back(unit_limits_words(context.asked, *context.frozen, shown.rows));
  page.chart.description = page.statements.front();
  for (const Row& row : shown.rows) add_unit(page, context.asked.metric, row);
  return page;
}

reports::TrendPage batch_trend_page(const TrendContext& context, const TrendTold& told,
                                    const BatchesByBench& by_bench) {
  reports::TrendPage page = page_about(context, "batch");
  if (told.batches.empty()) {
    page.statements = {told.without_batch > 0
                           ? "No test that matches is of a batch. " + sentence_without_batch(told) +
                                 " Show them by unit."
                           : none_matches(context.asked)};
    return page;
  }
  const ChartsOfBatches charts = charts_of(told);
  page.chart.place_title = "Batch";
  page.key_words = "batch mean";
  page.ring_words = "Whisker: 95 % of the units of the batch on that bench.";
  page.whisker_title = "± 95 % of units";
  page.statements = {sentence_of_side(told), sentence_of_causes(told),
                     counts_words(context, told, charts.first)};
  page.control = {words_of_limits(told, frozen_day(told.control))};
  if (const std::string often = words_of_run_length(told.control); !often.empty())
    page.control.push_back(often);
  page.signals = signal_table(told);
  if (told.control.judges()) page.no_signal_words = "No rule in force is broken.";
  if (context.together)
    page.together = together_part(*context.together);
  else
    page.together_href = address_of(kTrendAddress, context.asked) + "&together=" + kCurve;
  page.chart.description = page.statements.front();
  page.chart.line_words =
      bench_taken_out(told) ? "mean of all benches, bench effect taken out" : "mean of all benches";
  add_batches(page, context, told, by_bench, charts.first);
  const std::vector<LetteredChange> lettered = lettered_changes(charts);
  page.chart.changes = change_marks(lettered, charts.measured, charts.first);
  page.pairs = chart_pairs(told, charts);
  for (reports::ChartPair& pair : offset_charts(told, charts.first))
    page.pairs.push_back(std::move(pair));
  page.tables = {cause_table(told), change_table(told, charts, lettered)};
  page.numbers = number_table(told, charts);
  return page;
}

}  // namespace endgate::daemon
