// `endgate trend METRIC --model MODEL`

#include <iostream>

#include "analysis/say_number.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/csv.h"
#include "daemon/queries/metric_trend.h"

namespace endgate::daemon {
namespace {

constexpr int kShownDigits = 6;

std::string shown(const analysis::MetricFacts& facts, std::optional<double> si, double offset) {
  return si ? csv_number(*si * facts.factor + offset, kShownDigits) : "";
}

std::vector<TextRow> rows_of(const MetricTrend& trend) {
  const analysis::MetricFacts& facts = *trend.metric;
  const std::string unit = " [" + std::string(facts.display_unit) + "]";
  std::vector<TextRow> rows{{"position", "serial", "attempt", "start (UTC)", "batch", "bench",
                             "purpose", "verdict", std::string(facts.id) + unit, "u" + unit}};
  for (const auto& row : trend.rows)
    rows.push_back({std::to_string(row.position), row.serial, std::to_string(row.attempt),
                    say_utc_minute(row.started_utc_ms), row.batch, row.bench, row.purpose,
                    row.verdict, shown(facts, row.value, facts.offset), shown(facts, row.u, 0)});
  return rows;
}

std::string known_metrics() {
  std::string all;
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts)
    all += (all.empty() ? "" : ", ") + std::string(facts.id);
  return all;
}

}  // namespace

int run_command(const TrendCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto trend = trend_of(store, command.model, command.metric, command.count);
  if (!trend) {
    std::cerr << "No metric is called " << command.metric << ". There are: " << known_metrics()
              << "\n";
    return kUsage;
  }
  write_table(rows_of(*trend), std::cout);
  const analysis::MetricFacts& facts = *trend->metric;
  std::cerr << trend->valued << " of " << trend->rows.size() << " tests have a value";
  if (trend->sigma_si)
    std::cerr << ", mean " << shown(facts, trend->mean_si, facts.offset) << ", scatter "
              << shown(facts, trend->sigma_si, 0) << " " << facts.display_unit;
  std::cerr << "\n";
  return kOk;
}

}  // namespace endgate::daemon
