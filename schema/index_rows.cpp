#include "schema/index_rows.h"

#include <algorithm>
#include <tuple>

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
          {"serial", "attempt", "position", "model", "bench", "batch", "purpose", "started_utc_ms"},
          {start.serial, start.attempt, position, start.model, start.bench, start.batch,
           start.purpose, start.at.utc_ms},
          2};
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

IndexRow row_of(Position position, const Lots& lots) {
  return {"lots",
          {"position", "subject_kind", "subject", "at_utc_ms"},
          {position, lots.subject_kind, lots.subject, lots.at.utc_ms}};
}

IndexRow row_of(Position position, const Disposition& disposition) {
  return {"disposition",
          {"position", "serial", "decision", "at_utc_ms"},
          {position, disposition.serial, disposition.decision, disposition.at.utc_ms}};
}

IndexRow row_of(Position position, const ReturnIntake& intake) {
  return {"return_intake",
          {"position", "serial", "at_utc_ms"},
          {position, intake.serial, intake.at.utc_ms}};
}

IndexRow row_of(Position position, const Alarm& alarm) {
  return {"alarm",
          {"position", "opened", "bench", "code", "state", "at_utc_ms"},
          {position, alarm.opened == 0 ? position : alarm.opened, alarm.bench, alarm.code,
           alarm.state, alarm.at.utc_ms}};
}

IndexRow row_of(Position position, const ImportedTest& test) {
  return {"imported_test",
          {"position", "source", "line", "serial", "model", "bench", "batch", "tested_utc_ms"},
          {position, test.source, test.line, test.serial, test.model, test.bench, test.batch,
           test.tested_utc_ms}};
}

IndexRow row_of(Position position, const TraceRemoved& removed) {
  return {"trace_removed",
          {"position", "record", "at_utc_ms"},
          {position, removed.record, removed.at.utc_ms}};
}

IndexRow row_of(Position position, const BenchCheck& check) {
  return {"bench_check",
          {"position", "bench", "kind", "subject", "outcome", "at_utc_ms"},
          {position, check.bench, check.kind, check.subject, check.outcome, check.at.utc_ms}};
}

IndexRow row_of(Position position, const Withdrawal& withdrawal) {
  return {"withdrawal",
          {"position", "withdrawn", "at_utc_ms"},
          {position, withdrawal.withdrawn, withdrawal.at.utc_ms}};
}

void add_many_rows(std::vector<IndexRow>& rows, Position position, const Lots& lots) {
  std::vector<PartLot> parts = lots.parts;
  std::sort(parts.begin(), parts.end(), [](const PartLot& a, const PartLot& b) {
    return std::tie(a.part, a.lot) < std::tie(b.part, b.lot);
  });
  for (const PartLot& each : parts)
    rows.push_back({"lot", {"position", "part", "lot"}, {position, each.part, each.lot}, 3});
}

void add_many_rows(std::vector<IndexRow>& rows, Position position, const Record& record) {
  std::vector<const MetricValue*> metrics;
  for (const MetricValue& metric : record.metrics) metrics.push_back(&metric);
  std::sort(metrics.begin(), metrics.end(),
            [](const MetricValue* a, const MetricValue* b) { return a->id < b->id; });
  for (const MetricValue* metric : metrics)
    rows.push_back({"metric",
                    {"position", "metric", "value", "u"},
                    {position, metric->id, real_or_null(metric->value), real_or_null(metric->u)},
                    2});
}

}  // namespace

std::vector<IndexRow> index_rows(Position position, const Fact& fact) {
  std::vector<IndexRow> rows;
  rows.push_back(std::visit([&](const auto& value) { return row_of(position, value); }, fact));
  if (const auto* record = std::get_if<Record>(&fact)) add_many_rows(rows, position, *record);
  if (const auto* lots = std::get_if<Lots>(&fact)) add_many_rows(rows, position, *lots);
  return rows;
}

const std::vector<std::string>& index_tables() {
  static const std::vector<std::string> tables{
      "opened",        "definition",    "start",       "record",      "metric",        "repair",
      "bench_event",   "lots",          "lot",         "disposition", "return_intake", "alarm",
      "imported_test", "trace_removed", "bench_check", "withdrawal"};
  return tables;
}

std::size_t index_tables_at(std::int64_t version) {
  static const std::vector<std::size_t> counts{7, 15, 16};  // a number for each migration
  return counts.at(static_cast<std::size_t>(version - 1));
}

const char* table_of_many(FactKind kind) {
  if (kind == FactKind::record) return "metric";
  return kind == FactKind::lots ? "lot" : nullptr;
}

}  // namespace endgate::schema
