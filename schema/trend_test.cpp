#include "schema/trend_test.h"

namespace endgate::schema {
namespace {

// As analysis/reason_codes.h has it.  Records sealed before the service's own stops had a word of
// theirs carry this one for them too, and keep it.
constexpr std::string_view kStoppedByPerson = "stopped_by_person";

// "calibration north@2" -> "north@2"
std::string_view context_named(const Record& record, std::string_view kind) {
  for (const std::string_view id : record.context_ids)
    if (id.starts_with(kind)) return id.substr(kind.size());
  return {};
}

double random_u(const MetricValue& value) {
  for (const UncertaintyPart& part : value.parts)
    if (part.cause == "random") return part.u;
  return value.u.value_or(0);
}

std::string_view worst_elsewhere(const Record& record, std::string_view metric) {
  bool fail = false, undecided = false;
  for (const LimitAsWas& limit : record.limits) {
    if (limit.warn || limit.metric == metric) continue;
    fail = fail || limit.outcome == "fail";
    undecided = undecided || limit.outcome == "undecided";
  }
  return fail ? "fail" : undecided ? "undecided" : "pass";
}

std::optional<TrendLimit> limit_on(const Record& record, std::string_view metric) {
  std::optional<TrendLimit> found;
  for (const LimitAsWas& limit : record.limits) {
    if (limit.warn || limit.metric != metric) continue;
    if (!found)
      found = TrendLimit{.bounds = {limit.lower, limit.upper},
                         .pass_band = limit.pass_band,
                         .fail_band = limit.fail_band,
                         .outcome = limit.outcome,
                         .elsewhere = worst_elsewhere(record, metric)};
    found->last_bounds = {limit.lower, limit.upper};
  }
  return found;
}

}  // namespace

TrendTest trend_test_of(const StoredRecord& stored) {
  const Record& record = stored.record;
  const TestStart& start = record.start;
  TrendTest test{.position = stored.position,
                 .started_utc_ms = start.at.utc_ms,
                 .attempt = start.attempt,
                 .serial = start.serial,
                 .model = start.model,
                 .bench = start.bench,
                 .batch = start.batch,
                 .purpose = start.purpose,
                 .verdict = record.verdict,
                 .operator_name = start.operator_name,
                 .software = record.software,
                 .calibration = context_named(record, "calibration "),
                 .limits = context_named(record, "limits "),
                 .stopped_by_person = record.break_off == kStoppedByPerson,
                 .would_have_failed = !record.would_have_been.empty()};
  if (!record.reasons.empty()) {
    test.reason_code = record.reasons.front().code;
    test.reason_subject = record.reasons.front().subject;
  }
  return test;
}

TrendMetric trend_metric_of(const Record& record, std::string_view metric) {
  TrendMetric found;
  for (const MetricValue& value : record.metrics) {
    if (value.id != metric) continue;
    found.value = value.value;
    found.u = value.u;
    if (record.start.purpose == "reference") found.random_u = random_u(value);
  }
  found.limit = limit_on(record, metric);
  return found;
}

}  // namespace endgate::schema
