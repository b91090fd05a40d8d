// Stored facts as JSON: records, units, trends, traces.

#include "analysis/limit_subject.h"
#include "daemon/queries/unit_events.h"
#include "daemon/service/json_birth.h"

namespace endgate::daemon {
namespace {

std::string hex(const schema::Hash& hash) {
  static constexpr const char* kDigits = "0123456789abcdef";
  std::string out;
  for (const std::uint8_t byte : hash) {
    out += kDigits[byte >> 4U];
    out += kDigits[byte & 15U];
  }
  return out;
}

Json metric_of(const schema::MetricValue& metric) {
  Json parts = Json::array();
  for (const schema::UncertaintyPart& part : metric.parts)
    parts.push_back({{"cause", part.cause}, {"u_si", finite(part.u)}});
  return {{"id", metric.id},
          {"value_si", finite_or_null(metric.value)},
          {"u_si", finite_or_null(metric.u)},
          {"extrapolated", metric.extrapolated},
          {"missing_reason", text_or_null(metric.missing_reason)},
          {"uncertainty", parts}};
}

// What a limit on the curve or on a relation says beside a limit on a metric.
void add_subject(Json& json, const schema::LimitAsWas& limit) {
  if (analysis::is_one_metric(limit.metric)) return;
  json["value_si"] = finite_or_null(limit.value);
  json["u_si"] = finite_or_null(limit.u);
  if (limit.metric != analysis::kCurveSubject) return;
  json["gauge_pa"] = finite_or_null(limit.gauge_pa);
  json["points"] = Json::array();
  for (const schema::BandAsWas& point : limit.band)
    json["points"].push_back({{"gauge_pa", finite(point.gauge_pa)},
                              {"lower_si", finite_or_null(point.lower)},
                              {"upper_si", finite_or_null(point.upper)},
                              {"flow_m3_s", finite_or_null(point.flow_m3_s)},
                              {"u_m3_s", finite_or_null(point.u_m3_s)},
                              {"outcome", point.outcome}});
}

Json limit_of(const schema::LimitAsWas& limit) {
  Json json = {{"metric", limit.metric},
               {"lower_si", finite_or_null(limit.lower)},
               {"upper_si", finite_or_null(limit.upper)},
               {"pass_band_si", finite(limit.pass_band)},
               {"fail_band_si", finite(limit.fail_band)},
               {"warn", limit.warn},
               {"outcome", limit.outcome},
               {"margin_si", finite_or_null(limit.margin)},
               {"sentence", limit.sentence}};
  add_subject(json, limit);
  return json;
}

Json point_of(const schema::PointAsReduced& point) {
  return {{"step", point.step_id},
          {"target_gauge_pa", finite(point.target_gauge_pa)},
          {"window_start_us", point.window_start_us},
          {"window_end_us", point.window_end_us},
          {"discharge_pressure_abs_pa", finite(point.discharge_pressure_abs_pa)},
          {"inlet_pressure_abs_pa", finite(point.inlet_pressure_abs_pa)},
          {"flow_inlet_m3_s", finite(point.flow_inlet_m3_s)},
          {"flow_u_random_m3_s", finite(point.flow_u_random_m3_s)},
          {"speed_rev_s", finite(point.speed_rev_s)},
          {"supply_current_a", finite(point.supply_current_a)},
          {"supply_voltage_v", finite(point.supply_voltage_v)},
          {"head_temperature_k", finite(point.head_temperature_k)},
          {"case_temperature_k", finite(point.case_temperature_k)},
          {"inlet_temperature_k", finite(point.inlet_temperature_k)},
          {"steady", point.steady},
          {"note", text_or_null(point.note)}};
}

Json curve_of(const schema::Record& record) {
  if (!record.curve) return nullptr;
  const schema::CurveAsFitted& curve = *record.curve;
  return {{"a_m3", finite(curve.a_m3)},
          {"b_m3", finite(curve.b_m3)},
          {"leak_m3_s", finite(curve.leak_m3_s)},
          {"exponent", finite(curve.exponent)},
          {"ratio_min", finite(curve.ratio_min)},
          {"ratio_max", finite(curve.ratio_max)},
          {"chi_square", finite(curve.chi_square)},
          {"degrees_of_freedom", curve.degrees_of_freedom},
          {"contradicted", curve.contradicted}};
}

template <class Items, class Make>
Json list(const Items& items, const Make& make) {
  Json out = Json::array();
  for (const auto& item : items) out.push_back(make(item));
  return out;
}

Json head_of(const schema::StoredRecord& stored) {
  const schema::Record& record = stored.record;
  return {{"serial", record.start.serial},
          {"attempt", record.start.attempt},
          {"model", record.start.model},
          {"bench", record.start.bench},
          {"batch", text_or_null(record.start.batch)},
          {"purpose", record.start.purpose},
          {"retest_reason", text_or_null(record.start.reason)},
          {"operator", text_or_null(record.start.operator_name)},
          {"started_utc_ms", record.start.at.utc_ms},
          {"finished_utc_ms", record.finished.utc_ms},
          {"clock_synchronised", record.start.at.synchronised},
          {"verdict", record.verdict},
          {"standing", record.standing},
          {"standing_reason", record.standing_reason},
          {"would_have_been", text_or_null(record.would_have_been)},
          {"class", text_or_null(record.class_reached)},
          {"likely_cause", text_or_null(record.likely_cause)},
          {"cycle_s", finite_or_null(record.cycle_s)},
          {"break_off", text_or_null(record.break_off)},
          {"simulated", record.simulated},
          {"software", record.software},
          {"position", stored.position},
          {"head_sha256", hex(stored.head)}};
}

Json reasons_of(const schema::Record& record) {
  return list(record.reasons, [](const schema::ReasonGiven& reason) {
    return Json{{"code", reason.code}, {"subject", reason.subject}, {"sentence", reason.sentence}};
  });
}

Json whole(const schema::StoredRecord& stored) {
  const schema::Record& record = stored.record;
  Json json = head_of(stored);
  json["reasons"] = reasons_of(record);
  json["causes"] = list(record.causes, [](const schema::CauseStated& cause) {
    return Json{{"causes", cause.causes},
                {"name", cause.name},
                {"probability", finite(cause.probability)},
                {"of_bench", cause.of_bench},
                {"evidence", cause.evidence},
                {"told_apart_by", text_or_null(cause.told_apart_by)}};
  });
  json["metrics"] = list(record.metrics, metric_of);
  json["limits"] = list(record.limits, limit_of);
  json["points"] = list(record.points, point_of);
  json["curve"] = curve_of(record);
  json["curve_refusal"] = text_or_null(record.curve_refusal);
  json["drawn"] = list(record.drawn, [](const schema::DrawnPoint& point) {
    return Json{{"gauge_pa", finite(point.gauge_pa)},
                {"flow_m3_s", finite(point.flow_m3_s)},
                {"u_m3_s", finite(point.u_m3_s)},
                {"extrapolated", point.extrapolated}};
  });
  json["channels"] = list(record.health, [](const schema::HealthAsFound& health) {
    return Json{{"channel", health.channel}, {"state", health.state}, {"detail", health.detail}};
  });
  json["context"] = record.context_ids;
  json["trace_sha256"] = record.trace_sha256 ? Json(hex(*record.trace_sha256)) : Json(nullptr);
  return json;
}

Json repair_of(const schema::Kept<schema::Repair>& kept) {
  return {{"position", kept.position},
          {"finding", kept.fact.finding},
          {"parts", text_or_null(kept.fact.parts)},
          {"by", kept.fact.by},
          {"at_utc_ms", kept.fact.at.utc_ms}};
}

Json return_of(const schema::Kept<schema::ReturnIntake>& kept) {
  return {{"position", kept.position},
          {"complaint", kept.fact.complaint},
          {"condition", text_or_null(kept.fact.condition)},
          {"months_in_use", finite_or_null(kept.fact.months_in_use)},
          {"hours_in_use", finite_or_null(kept.fact.hours_in_use)},
          {"by", kept.fact.by},
          {"at_utc_ms", kept.fact.at.utc_ms}};
}

Json decision_of(const schema::Kept<schema::Disposition>& kept) {
  return {{"position", kept.position},
          {"decision", kept.fact.decision},
          {"reason", kept.fact.reason},
          {"by", kept.fact.by},
          {"second_by", text_or_null(kept.fact.second_by)},
          {"at_utc_ms", kept.fact.at.utc_ms}};
}

Json lots_of(const schema::Kept<schema::Lots>& kept) {
  return {{"position", kept.position},
          {"of", kept.fact.subject_kind},
          {"subject", kept.fact.subject},
          {"parts", list(kept.fact.parts,
                         [](const schema::PartLot& part) {
                           return Json{{"part", part.part}, {"lot", part.lot}};
                         })},
          {"source", text_or_null(kept.fact.source)},
          {"by", kept.fact.by},
          {"at_utc_ms", kept.fact.at.utc_ms}};
}

Json imported_of(const schema::Kept<schema::ImportedTest>& kept) {
  return {
      {"position", kept.position},
      {"source", kept.fact.source},
      {"line", kept.fact.line},
      {"model", text_or_null(kept.fact.model)},
      {"bench", text_or_null(kept.fact.bench)},
      {"batch", text_or_null(kept.fact.batch)},
      {"purpose", text_or_null(kept.fact.purpose)},
      {"attempt", kept.fact.attempt ? Json(*kept.fact.attempt) : Json(nullptr)},
      {"verdict", text_or_null(kept.fact.verdict)},
      {"reasons", text_or_null(kept.fact.reasons)},
      {"likely_cause", text_or_null(kept.fact.likely_cause)},
      {"cycle_s", finite_or_null(kept.fact.cycle_s)},
      {"tested_utc_ms", kept.fact.tested_utc_ms},
      {"metrics", list(kept.fact.metrics, metric_of)},
      {"by", kept.fact.by},
      {"why", text_or_null(kept.fact.why)},
      {"file_sha256", kept.fact.file_sha256 ? Json(hex(*kept.fact.file_sha256)) : Json(nullptr)}};
}

Json test_row_of(const TestRow& row) {
  return {{"position", row.position},
          {"serial", row.serial},
          {"attempt", row.attempt},
          {"batch", text_or_null(row.batch)},
          {"bench", row.bench},
          {"verdict", row.verdict},
          {"purpose", row.purpose},
          {"started_utc_ms", row.started_utc_ms},
          {"value_si", finite_or_null(row.value)},
          {"u_si", finite_or_null(row.u)}};
}

}  // namespace

Json withdrawn_entries(const std::vector<UnitEvent>& events) {
  Json out = Json::array();
  for (const auto& [position, entry, withdrawal] : events)
    if (withdrawal)
      out.push_back({{"position", position},
                     {"what", entry.what},
                     {"of", entry.of},
                     {"words", entry.words},
                     {"entered_by", entry.by},
                     {"entered_utc_ms", entry.utc_ms},
                     {"withdrawal_position", withdrawal->position},
                     {"why", withdrawal->fact.why},
                     {"by", withdrawal->fact.by},
                     {"second_by", text_or_null(withdrawal->fact.second_by)},
                     {"at_utc_ms", withdrawal->fact.at.utc_ms}});
  return out;
}

std::string record_json(const schema::StoredRecord& stored) { return written(whole(stored)); }

std::string unit_json(const UnitHistory& unit, const std::optional<BirthCompared>& birth) {
  Json json = {{"serial", unit.serial}};
  json["standing"] = unit.standing ? Json(unit.standing->word) : Json(nullptr);
  json["standing_reason"] = unit.standing ? Json(unit.standing->reason) : Json(nullptr);
  json["attempts"] = list(unit.tests, whole);
  json["repairs"] = list(unit.repairs, repair_of);
  json["returns"] = list(unit.returns, return_of);
  json["decisions"] = list(unit.decisions, decision_of);
  json["lots"] = list(unit.lots, lots_of);
  json["imported"] = list(unit.imported, imported_of);
  json["withdrawn"] = withdrawn_entries(events_of(unit.withdrawn));
  json["against_birth"] = birth ? birth_json(*birth) : Json(nullptr);
  return written(json);
}

std::string standing_json(const UnitHistory& unit) {
  Json json = {{"serial", unit.serial},
               {"standing", unit.standing->word},
               {"reason", unit.standing->reason}};
  const bool tested = !unit.tests.empty();
  json["attempt"] = tested ? Json(unit.tests.back().record.start.attempt) : Json(nullptr);
  json["verdict"] = tested ? Json(unit.tests.back().record.verdict) : Json(nullptr);
  json["position"] = tested ? Json(unit.tests.back().position) : Json(nullptr);
  return written(json);
}

std::string trend_json(const std::string& model, const analysis::MetricFacts& metric,
                       const TestsShown& tests) {
  return written({{"model", model},
                  {"metric", metric.id},
                  {"si_unit", metric.si_unit},
                  {"valued", tests.matching},
                  {"mean_si", finite_or_null(tests.mean)},
                  {"sigma_si", finite_or_null(tests.sigma)},
                  {"tests", list(tests.rows, test_row_of)}});
}

std::string trace_json(const schema::TestStart& start, const TraceShown& trace) {
  Json times = Json::array(), lowest = Json::array(), highest = Json::array();
  for (const TraceShown::Piece& piece : trace.pieces) {
    times.push_back(finite(piece.time_s));
    lowest.push_back(finite_or_null(piece.lowest_si));
    highest.push_back(finite_or_null(piece.highest_si));
  }
  const Json channels = list(trace.channels, [](const auto& channel) { return channel.id; });
  return written({{"serial", start.serial},
                  {"attempt", start.attempt},
                  {"channel", trace.channel},
                  {"channels", channels},
                  {"si_unit", trace.si_unit},
                  {"time_s", times},
                  {"lowest_si", lowest},
                  {"highest_si", highest}});
}

}  // namespace endgate::daemon
