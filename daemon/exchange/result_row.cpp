#include "daemon/exchange/result_row.h"

#include <algorithm>
#include <cmath>

#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

std::string reasons_of(const schema::Record& record) {
  std::string all;
  for (const schema::ReasonGiven& reason : record.reasons)
    all += (all.empty() ? "" : "; ") + reason.code +
           (reason.subject.empty() ? "" : " " + reason.subject);
  return all;
}

std::string extrapolated_of(const std::vector<schema::MetricValue>& metrics) {
  std::string ids;
  for (const schema::MetricValue& metric : metrics)
    if (metric.value && metric.extrapolated) ids += (ids.empty() ? "" : " ") + metric.id;
  return ids;
}

ResultCell text(const std::string& said) { return said.empty() ? ResultCell() : ResultCell(said); }

// What is not finite is no number of any file.
ResultCell number(std::optional<double> value) {
  return value && std::isfinite(*value) ? ResultCell(*value) : ResultCell();
}

ResultCell metric_cell(const ResultRow& row, const MetricColumn& column) {
  const auto found = std::ranges::find(row.metrics, column.metric, &schema::MetricValue::id);
  if (found == row.metrics.end() || !found->value) return {};
  const std::optional<double> kept = column.is_u ? found->u : found->value;
  return kept ? number(*kept * column.factor + column.offset) : ResultCell();
}

}  // namespace

ResultRow row_of(const schema::StoredRecord& test) {
  const schema::Record& record = test.record;
  const schema::TestStart& start = record.start;
  return {.position = test.position,
          .origin = record.simulated ? "simulated" : "measured",
          .serial = start.serial,
          .model = start.model,
          .bench = start.bench,
          .batch = start.batch,
          .purpose = start.purpose,
          .attempt = start.attempt,
          .start_utc_ms = start.at.utc_ms,
          .cycle_s = record.cycle_s,
          .verdict = record.verdict,
          .standing = record.standing,
          .reasons = reasons_of(record),
          .likely_cause = record.likely_cause,
          .metrics = record.metrics};
}

ResultRow row_of(const schema::Kept<schema::ImportedTest>& kept) {
  const schema::ImportedTest& test = kept.fact;
  return {.position = kept.position,
          .origin = "imported",
          .source = test.source,
          .serial = test.serial,
          .model = test.model,
          .bench = test.bench,
          .batch = test.batch,
          .purpose = test.purpose,
          .attempt = test.attempt,
          .start_utc_ms = test.tested_utc_ms,
          .cycle_s = test.cycle_s,
          .verdict = test.verdict,
          .reasons = test.reasons,
          .likely_cause = test.likely_cause,
          .metrics = test.metrics};
}

std::vector<ResultCell> cells_of(const ResultRow& row, const std::vector<MetricColumn>& columns) {
  std::vector<ResultCell> cells{row.position,
                                text(row.origin),
                                text(row.source),
                                text(row.serial),
                                row.attempt ? ResultCell(*row.attempt) : ResultCell(),
                                text(row.model),
                                text(row.bench),
                                text(row.batch),
                                text(row.purpose),
                                csv_utc(row.start_utc_ms),
                                number(row.cycle_s),
                                text(row.verdict),
                                text(row.standing),
                                text(row.reasons),
                                text(row.likely_cause),
                                text(extrapolated_of(row.metrics))};
  for (const MetricColumn& column : columns) cells.push_back(metric_cell(row, column));
  return cells;
}

}  // namespace endgate::daemon
