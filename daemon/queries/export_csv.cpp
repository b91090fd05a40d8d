#include "daemon/queries/export_csv.h"

#include <algorithm>
#include <string>

#include "analysis/metric_facts.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

using analysis::kMetricFacts;
using analysis::MetricFacts;

constexpr int kShownDigits = 10;  // hides the last bits of a change of unit, nothing measured

void write_head(CsvUnits units, std::ostream& out) {
  out << "serial,attempt,model,bench,batch,purpose,start,cycle_s,verdict,standing,reasons,"
         "likely_cause";
  for (const MetricFacts& metric : kMetricFacts) {
    const std::string id(metric.id);
    const std::string unit(units == CsvUnits::si ? metric.si_unit : metric.display_unit);
    out << ',' << csv_text(id + " [" + unit + "]") << ',' << csv_text(id + ".u [" + unit + "]");
  }
  out << kCsvLineEnd;
}

std::string reasons_of(const schema::Record& record) {
  std::string all;
  for (const schema::ReasonGiven& reason : record.reasons)
    all += (all.empty() ? "" : "; ") + reason.code +
           (reason.subject.empty() ? "" : " " + reason.subject);
  return all;
}

void write_facts(const schema::Record& record, std::ostream& out) {
  const schema::TestStart& start = record.start;
  out << csv_text(start.serial) << ',' << start.attempt << ',' << csv_text(start.model) << ','
      << csv_text(start.bench) << ',' << csv_text(start.batch) << ',' << csv_text(start.purpose)
      << ',' << csv_utc(start.at.utc_ms) << ',' << csv_number(record.cycle_s, kShownDigits) << ','
      << csv_text(record.verdict) << ',' << csv_text(record.standing) << ','
      << csv_text(reasons_of(record)) << ',' << csv_text(record.likely_cause);
}

std::string shown(std::optional<double> si, double factor, double offset, CsvUnits units) {
  if (!si || units == CsvUnits::si) return csv_number(si);
  return csv_number(*si * factor + offset, kShownDigits);
}

void write_metric(const schema::Record& record, const MetricFacts& facts, CsvUnits units,
                  std::ostream& out) {
  const auto found = std::ranges::find(record.metrics, facts.id, &schema::MetricValue::id);
  const bool there = found != record.metrics.end() && found->value;
  out << ',' << (there ? shown(found->value, facts.factor, facts.offset, units) : "");
  out << ',' << (there ? shown(found->u, facts.factor, 0, units) : "");
}

}  // namespace

std::int64_t export_csv(const schema::StoreReader& store, CsvUnits units, std::ostream& out) {
  std::int64_t rows = 0;
  write_head(units, out);
  store.for_each_record([&](const schema::StoredRecord& stored) {
    write_facts(stored.record, out);
    for (const MetricFacts& metric : kMetricFacts) write_metric(stored.record, metric, units, out);
    out << kCsvLineEnd;
    ++rows;
    return static_cast<bool>(out);
  });
  return rows;
}

}  // namespace endgate::daemon
