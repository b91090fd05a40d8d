#include "daemon/views/trend_view.h"

#include <algorithm>
#include <cmath>
#include <map>

#include "analysis/metric_facts.h"
#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

using Row = schema::StoreReader::TrendRow;

// A void test says nothing about the product.
std::vector<Row> told(const MetricTrend& trend) {
  std::vector<Row> rows{};
  for (const Row& row : trend.rows)
    if (row.value && row.verdict != "void") rows.push_back(row);
  return rows;
}

std::size_t index_in(std::vector<std::string>& names, const std::string& name) {
  const auto found = std::find(names.begin(), names.end(), name);
  if (found != names.end()) return static_cast<std::size_t>(found - names.begin());
  names.push_back(name);
  return names.size() - 1;
}

std::string address(TrendAsked asked) {
  return "/trends?model=" + address_part(asked.model) + "&metric=" + address_part(asked.metric) +
         "&by=" + (asked.by_batch ? "batch" : "unit") + "&count=" + std::to_string(asked.count);
}

std::string with_unit(const std::string& number, const std::string& metric) {
  return number + reports::kNoBreak + metric_unit(metric);
}

void add_unit_spots(reports::TrendPage& page, const TrendAsked& asked,
                    const std::vector<Row>& rows) {
  for (const Row& row : rows) {
    const HeldLimit held{.metric = asked.metric, .value = row.value, .u = row.u};
    const double value = shown_value(asked.metric, *row.value);
    const double expanded = shown_size(asked.metric, 2 * row.u.value_or(0));
    const double place = static_cast<double>(page.chart.spots.size());
    const std::string written = written_value(held).text(metric_unit(asked.metric));
    const std::string href =
        "/units/" + address_part(row.serial) + "/" + std::to_string(row.attempt);
    page.chart.spots.push_back(
        {.place = place,
         .bench = index_in(page.chart.benches, row.bench),
         .value = value,
         .low = value - expanded,
         .high = value + expanded,
         .said = row.serial + ", bench " + row.bench + ", " + row.verdict + ": " + written,
         .href = href,
         .verdict = row.verdict});
    page.chart.names.push_back({place, row.serial});
    const reports::WrittenReading parts = written_value(held);
    page.rows.push_back({row.serial, row.bench, "1", parts.value, parts.u, href});
  }
}

struct Group {
  std::vector<double> values{};
  [[nodiscard]] double mean() const {
    double sum = 0;
    for (const double value : values) sum += value;
    return sum / static_cast<double>(values.size());
  }
  // 1.96 sigma of single units about their mean; 0 for one unit.
  [[nodiscard]] double spread() const {
    if (values.size() < 2) return 0;
    double sum = 0;
    for (const double value : values) sum += (value - mean()) * (value - mean());
    return 1.96 * std::sqrt(sum / static_cast<double>(values.size() - 1));
  }
};

void add_batch_spots(reports::TrendPage& page, const TrendAsked& asked,
                     const std::vector<Row>& rows) {
  std::vector<std::string> batches{};
  std::map<std::pair<std::size_t, std::size_t>, Group> groups{};
  for (const Row& row : rows) {
    const std::size_t batch = index_in(batches, row.batch.empty() ? "no batch" : row.batch);
    const std::size_t bench = index_in(page.chart.benches, row.bench);
    groups[{batch, bench}].values.push_back(shown_value(asked.metric, *row.value));
  }
  const analysis::MetricFacts* facts = analysis::facts_of_metric(asked.metric);
  const int decimals = facts == nullptr ? 2 : facts->decimals;
  TrendAsked units = asked;
  units.by_batch = false;
  for (const auto& [key, group] : groups) {
    const double mean = group.mean(), spread = group.spread();
    const std::string value = reports::fixed(mean, decimals);
    const std::string& bench = page.chart.benches[key.second];
    page.chart.spots.push_back({.place = static_cast<double>(key.first),
                                .bench = key.second,
                                .value = mean,
                                .low = mean - spread,
                                .high = mean + spread,
                                .said = "Batch " + batches[key.first] + ", bench " + bench +
                                        ": mean " + with_unit(value, asked.metric) + " of " +
                                        std::to_string(group.values.size()) +
                                        (group.values.size() == 1 ? " unit" : " units"),
                                .href = address(units),
                                .verdict = ""});
    page.rows.push_back(
        {batches[key.first], bench, std::to_string(group.values.size()), value,
         group.values.size() < 2 ? reports::kMissing : reports::fixed(spread, decimals),
         address(units)});
  }
  for (std::size_t i = 0; i < batches.size(); ++i)
    page.chart.names.push_back({static_cast<double>(i), batches[i]});
}

void add_limits(reports::TrendChart& chart, const std::string& metric,
                const std::vector<schema::LimitAsWas>& limits) {
  for (const schema::LimitAsWas& limit : limits) {
    if (limit.metric != metric) continue;
    const HeldLimit lower{.metric = metric, .lower = limit.lower};
    const HeldLimit upper{.metric = metric, .upper = limit.upper};
    if (limit.lower) chart.lower = shown_value(metric, *limit.lower);
    if (limit.upper) chart.upper = shown_value(metric, *limit.upper);
    if (limit.lower) chart.lower_words = "lower limit, " + limit_words(lower);
    if (limit.upper) chart.upper_words = "upper limit, " + limit_words(upper);
    chart.guard = shown_size(metric, limit.pass_band);
  }
}

std::vector<reports::TrendMenu> menus_of(const TrendAsked& asked, std::vector<std::string> models) {
  index_in(models, asked.model);
  reports::TrendMenu model{.name = "Model"}, metric{.name = "Metric"}, group{.name = "Group by"};
  for (const std::string& name : models) {
    TrendAsked other = asked;
    other.model = name;
    model.entries.push_back({name, address(other), name == asked.model});
  }
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts) {
    TrendAsked other = asked;
    other.metric = facts.id;
    metric.entries.push_back(
        {metric_name_short(other.metric), address(other), facts.id == asked.metric});
  }
  for (const bool batch : {true, false}) {
    TrendAsked other = asked;
    other.by_batch = batch;
    group.entries.push_back({batch ? "batch" : "unit", address(other), batch == asked.by_batch});
  }
  return {model, metric, group};
}

std::string sentence_of(const TrendAsked& asked, const MetricTrend& trend, std::size_t shown) {
  if (shown == 0) return "No tests of " + asked.model + " with this metric are kept.";
  std::string text = std::to_string(shown) + (shown == 1 ? " test" : " tests");
  const analysis::MetricFacts* facts = trend.metric;
  const int decimals = facts == nullptr ? 2 : facts->decimals;
  if (trend.mean_si)
    text +=
        "; mean " + with_unit(reports::fixed(shown_value(asked.metric, *trend.mean_si), decimals),
                              asked.metric);
  if (trend.sigma_si)
    text += ", standard deviation of one test " +
            with_unit(reports::fixed(shown_size(asked.metric, *trend.sigma_si), decimals + 1),
                      asked.metric);
  return text + ". Who moved since when: endgate trend METRIC --causes.";
}

}  // namespace

reports::TrendPage trend_page_of(const TrendAsked& asked, const MetricTrend& trend,
                                 const std::vector<std::string>& models,
                                 const std::vector<schema::LimitAsWas>& limits) {
  const std::vector<Row> rows = told(trend);
  reports::TrendPage page;
  page.heading = metric_name(asked.metric) + ", model " + asked.model;
  page.sentence = sentence_of(asked, trend, rows.size());
  page.menus = menus_of(asked, models);
  page.key_words = asked.by_batch ? "batch mean" : "unit";
  if (!asked.by_batch) page.ring_words = "In a ring: failed or undecided. Whisker: ± U, k = 2.";
  if (asked.by_batch) page.ring_words = "Whisker: 95 % of the units of the batch on that bench.";
  page.whisker_title = asked.by_batch ? "± 95 % of units" : "± U, k = 2";
  page.chart.description = page.sentence;
  page.chart.unit = metric_unit(asked.metric);
  page.chart.place_title = asked.by_batch ? "Batch" : "Unit, in order of test";
  add_limits(page.chart, asked.metric, limits);
  if (asked.by_batch)
    add_batch_spots(page, asked, rows);
  else
    add_unit_spots(page, asked, rows);
  return page;
}

}  // namespace endgate::daemon
