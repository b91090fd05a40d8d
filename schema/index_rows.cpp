#include "schema/index_rows.h"

#include <algorithm>

namespace endgate::schema {
namespace {

Value real_or_null(const std::optional<double>& value) {
  return value ? Value(*value) : Value(std::monostate());
}

IndexRow row_of(Position position, const StoreOpened& opened) {
  return {"opened",
          {"position", "store_id", "public_key"},
          {position, blob(opened.store_id), blob(opened.public_key)}};
}

IndexRow row_of(Position position, const Definition& definition) {
  return {"definition",
          {"position", "kind", "subject", "version", "text_sha256"},
          {position, definition.kind, definition.subject, definition.version,
           blob(definition.text_sha256)}};
}

IndexRow row_of(Position position, const TestStart& start) {
  return {"start",
          {"position", "serial", "attempt", "model", "bench", "batch", "purpose", "started_utc_ms"},
          {position, start.serial, start.attempt, start.model, start.bench, start.batch,
           start.purpose, start.at.utc_ms}};
}

IndexRow row_of(Position position, const Record& record) {
  const TestStart& start = record.start;
  return {
      "record",
      {"position", "start_position", "serial", "attempt", "model", "bench", "batch", "purpose",
       "verdict", "standing", "started_utc_ms", "finished_utc_ms", "trace_file", "trace_sha256"},
      {position, record.start_position, start.serial, start.attempt, start.model, start.bench,
       start.batch, start.purpose, record.verdict, record.standing, start.at.utc_ms,
       record.finished.utc_ms, record.trace_file,
       record.trace_sha256 ? Value(blob(*record.trace_sha256)) : Value(std::monostate())}};
}

IndexRow row_of(Position position, const Repair& repair) {
  return {
      "repair", {"position", "serial", "at_utc_ms"}, {position, repair.serial, repair.at.utc_ms}};
}

IndexRow row_of(Position position, const BenchEvent& event) {
  return {"bench_event",
          {"position", "bench", "code", "at_utc_ms"},
          {position, event.bench, event.code, event.at.utc_ms}};
}

void add_metric_rows(std::vector<IndexRow>& rows, Position position, const Record& record) {
  std::vector<const MetricValue*> metrics;
  for (const MetricValue& metric : record.metrics) metrics.push_back(&metric);
  std::sort(metrics.begin(), metrics.end(),
            [](const MetricValue* a, const MetricValue* b) { return a->id < b->id; });
  for (const MetricValue* metric : metrics)
    rows.push_back({"metric",
                    {"position", "metric", "value", "u"},
                    {position, metric->id, real_or_null(metric->value), real_or_null(metric->u)}});
}

}  // namespace

std::vector<IndexRow> index_rows(Position position, const Fact& fact) {
  std::vector<IndexRow> rows;
  rows.push_back(std::visit([&](const auto& value) { return row_of(position, value); }, fact));
  if (const auto* record = std::get_if<Record>(&fact)) add_metric_rows(rows, position, *record);
  return rows;
}

const std::vector<std::string>& index_tables() {
  static const std::vector<std::string> tables{"opened", "definition", "start",      "record",
                                               "metric", "repair",     "bench_event"};
  return tables;
}

}  // namespace endgate::schema
