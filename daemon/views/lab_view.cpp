#include "daemon/views/lab_view.h"

#include <algorithm>

#include "daemon/views/curves.h"
#include "daemon/views/shown.h"
#include "daemon/views/tests_asked.h"
#include "daemon/views/trend_words.h"
#include "reports/number.h"
#include "reports/path_chart.h"

namespace endgate::daemon {
namespace {

constexpr double kExpanded = 2;
constexpr int kLineSpots = 60;
constexpr double kShownBeyond = 3;  // times as long as was measured

// Without its unit, which stands beside the name of the metric.
std::string value_words(const UnitBeside& unit, const analysis::MetricFacts& facts) {
  const schema::MetricValue* metric = metric_in(unit, facts);
  if (metric == nullptr) return reports::kMissing;
  const HeldLimit held{.metric = std::string(facts.id), .value = metric->value, .u = metric->u};
  const reports::WrittenReading written = written_value(held);
  return written.value + (written.u.empty() ? "" : " ± " + written.u);
}

std::string difference_words(const UnitBeside& unit, const analysis::MetricFacts& facts) {
  const analysis::Difference* d = difference_in(unit, facts);
  if (d == nullptr || !d->u || !(*d->u > 0)) return "";
  const std::string metric(facts.id);
  const double expanded = kExpanded * shown_size(metric, *d->u);
  const int decimals = reports::decimals_of_uncertainty(expanded);
  return " (" + reports::with_sign(shown_size(metric, d->change), decimals) + " ± " +
         reports::fixed(expanded, decimals) + (d->significant() ? ", differs)" : ")");
}

std::string unit_title(const UnitBeside& unit, bool with_model) {
  const schema::TestStart& start = unit.test.record.start;
  return start.serial + "/" + std::to_string(start.attempt) + ", " + start.bench +
         (with_model ? ", " + start.model : "");
}

template <class Fact>
void add_fact_row(reports::WordTable& table, const SideBySide& told, const char* name, Fact fact) {
  std::vector<std::string> row{name};
  for (const UnitBeside& unit : told.units) row.push_back(fact(unit));
  table.rows.push_back(std::move(row));
}

reports::CurveChart curves_of(const SideBySide& told) {
  reports::CurveChart chart = curve_chart_of(told.units.front().test.record);
  chart.band.clear();
  chart.description = "Free-air delivery over outlet pressure, one curve for each unit.";
  chart.unit_label = told.units.front().test.record.start.serial;
  chart.stops = false;
  for (std::size_t i = 1; i < told.units.size(); ++i) {
    const schema::Record& record = told.units[i].test.record;
    chart.others.push_back({.name = record.start.serial, .spots = curve_chart_of(record).curve});
  }
  chart.width = 1000;
  chart.height = 400;
  return chart;
}

// Drawn until a limit is reached, but not much farther than was measured.
double drawn_until(const EnduranceTold& told, double last_s) {
  double until = last_s;
  for (const LimitReached& limit : told.limits)
    if (limit.time.time) until = std::max(until, limit.time.not_after.value_or(*limit.time.time));
  return std::min(until, kShownBeyond * last_s);
}

reports::PathChart path_of(const EnduranceTold& told) {
  const std::string metric(told.metric->id);
  const double time_unit = told.over_days ? kDay_s : kHour_s;
  reports::PathChart chart{
      .description = words_of(told).front(),
      .quantity = std::string(told.metric->name) + ", " + std::string(told.metric->display_unit),
      .time_title = told.over_days ? "Days since the first test" : "Hours on benches"};
  for (const EndurancePoint& point : told.points)
    chart.spots.push_back({.time = point.time_s / time_unit,
                           .value = shown_value(metric, point.value),
                           .expanded_u = kExpanded * shown_size(metric, point.u.value_or(0))});
  const double last_s = told.points.back().time_s;
  const double until_s = drawn_until(told, last_s);
  chart.until = std::max(until_s / time_unit, 1e-3);
  for (int i = 0; told.path && i <= kLineSpots; ++i) {
    const double t = until_s * i / kLineSpots;
    const statistics::Interval band = told.path->line_at(t);
    chart.line.push_back({t / time_unit, shown_value(metric, told.path->value_at(t)),
                          shown_value(metric, band.low), shown_value(metric, band.high)});
  }
  if (!told.path && told.lower_si)
    chart.limits.push_back({.at = shown_value(metric, *told.lower_si), .words = "lower limit"});
  if (!told.path && told.upper_si)
    chart.limits.push_back({.at = shown_value(metric, *told.upper_si), .words = "upper limit"});
  for (const LimitReached& limit : told.limits) {
    reports::PathLimit drawn{.at = shown_value(metric, limit.at),
                             .words = limit.lower ? "lower limit" : "upper limit"};
    if (!limit.now && limit.time.not_after && *limit.time.not_after >= last_s) {
      drawn.from = limit.time.not_before / time_unit;
      drawn.to = *limit.time.not_after / time_unit;
    }
    chart.limits.push_back(drawn);
  }
  return chart;
}

reports::WordTable points_table(const EnduranceTold& told) {
  const std::string metric(told.metric->id);
  reports::WordTable table{.columns = {"Attempt", "Begun", "Bench", "Purpose",
                                       told.over_days ? "Days" : "Hours on benches",
                                       metric_name(metric) + ", " + metric_unit(metric)}};
  for (const EndurancePoint& point : told.points) {
    const HeldLimit held{.metric = metric, .value = point.value, .u = point.u};
    table.rows.push_back({std::to_string(point.attempt), date_and_minute(point.started_utc_ms),
                          point.bench, point.purpose,
                          reports::fixed(point.time_s / (told.over_days ? kDay_s : kHour_s), 2),
                          written_value(held).text("")});
  }
  return table;
}

}  // namespace

std::vector<std::string> units_named(const std::string& text) {
  std::vector<std::string> names(1);
  for (const char c : text) {
    if (c == ' ' || c == ',' || c == ';')
      names.emplace_back();
    else
      names.back() += c;
  }
  std::erase(names, "");
  return names;
}

reports::WordTable beside_table(const SideBySide& told) {
  reports::WordTable table{.columns = {"Metric"}};
  for (const UnitBeside& unit : told.units)
    table.columns.push_back(unit_title(unit, told.other_models()));
  add_fact_row(table, told, "Model",
               [](const UnitBeside& unit) { return unit.test.record.start.model; });
  add_fact_row(table, told, "Begun", [](const UnitBeside& unit) {
    return date_and_minute(unit.test.record.start.at.utc_ms);
  });
  add_fact_row(table, told, "Purpose",
               [](const UnitBeside& unit) { return unit.test.record.start.purpose; });
  add_fact_row(table, told, "Verdict",
               [](const UnitBeside& unit) { return unit.test.record.verdict; });
  add_fact_row(table, told, "Standing of the unit now", [](const UnitBeside& unit) {
    return unit.standing.empty() ? reports::kMissing : unit.standing;
  });
  for (const analysis::MetricFacts* facts : told.metrics) {
    std::vector<std::string> row{std::string(facts->name) + ", " +
                                 metric_unit(std::string(facts->id))};
    for (const UnitBeside& unit : told.units)
      row.push_back(value_words(unit, *facts) + difference_words(unit, *facts));
    table.rows.push_back(std::move(row));
  }
  return table;
}

reports::AnswerPage compare_page(const SideBySide& told, const std::string& named) {
  reports::AnswerPage page{.here = "Units", .heading = "Units side by side"};
  page.form = {.action = kCompareAddress,
               .fields = {{.name = "units",
                           .caption = "Serials, or serial/attempt",
                           .value = named,
                           .choices = {},
                           .example = "serial, serial"}}};
  page.statements = words_of(told);
  if (told.units.size() < 2) return page;
  reports::AnswerPart part{.heading = "Delivery over pressure"};
  if (!told.units.front().test.record.drawn.empty()) part.drawings = {draw(curves_of(told))};
  page.parts.push_back(std::move(part));
  page.parts.push_back({.heading = "Every metric", .table = beside_table(told)});
  return page;
}

reports::QuestionForm endurance_form(const EnduranceAsked& asked) {
  return {.action = kEnduranceAddress,
          .fields = {{.name = "unit",
                      .caption = "Serial",
                      .value = asked.serial,
                      .choices = {},
                      .example = "serial"},
                     metric_field(asked.metric),
                     {.name = "over",
                      .caption = "Over",
                      .value = asked.over.empty() ? "bench" : asked.over,
                      .choices = {{"bench", "hours on benches"}, {"days", "days"}}}}};
}

reports::AnswerPage endurance_page(const EnduranceTold& told, const EnduranceAsked& asked) {
  reports::AnswerPage page{.here = "Units",
                           .heading = "How " + told.serial + " moves as it runs",
                           .form = endurance_form(asked),
                           .statements = words_of(told)};
  if (told.points.empty()) return page;
  const bool limited = told.lower_si || told.upper_si;
  page.parts.push_back(
      {.heading = std::string(told.path ? "Every test and the line through them" : "Every test") +
                  (limited ? ", with the limits in force" : ""),
       .short_name = told.path ? "Degradation path with 95 % band; times by Fieller's set" : "",
       .drawings = {draw(path_of(told))},
       .table = points_table(told)});
  return page;
}

}  // namespace endgate::daemon
