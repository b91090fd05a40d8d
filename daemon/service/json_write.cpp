#include "daemon/service/json_write.h"

#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

const char* live_key(analysis::Role role) {
  using analysis::Role;
  switch (role) {
    case Role::discharge_pressure:
      return "discharge_pressure_gauge_pa";
    case Role::barometric_pressure:
      return "barometric_pressure_abs_pa";
    case Role::flow:
      return "flow_m3_s";
    case Role::supply_voltage:
      return "supply_voltage_v";
    case Role::supply_current:
      return "supply_current_a";
    case Role::speed:
      return "speed_rev_s";
    case Role::head_temperature:
      return "head_temperature_k";
    case Role::case_temperature:
      return "case_temperature_k";
    case Role::ambient_temperature:
      return "ambient_temperature_k";
    case Role::relative_humidity:
      return "relative_humidity";
    case Role::seal_pressure:
      return "seal_pressure_gauge_pa";
  }
  return "unknown";
}

const char* name_of(RailStep::Mark mark) {
  switch (mark) {
    case RailStep::Mark::to_come:
      return "to_come";
    case RailStep::Mark::now:
      return "now";
    case RailStep::Mark::done:
      return "done";
    case RailStep::Mark::broken:
      return "broken";
  }
  return "to_come";
}

Json live_of(const BenchLive& live) {
  Json values = Json::object();
  for (const LiveValue& value : live.values)
    values[live_key(value.role)] = finite_or_null(value.value_si);
  return {{"values", values},
          {"test_time_s", finite(live.test_seconds)},
          {"condition_code", text_or_null(live.condition_code)},
          {"condition", text_or_null(live.condition_text)},
          {"making_safe", live.making_safe},
          {"may_be_under_pressure", live.may_be_under_pressure}};
}

Json rail_of(const std::vector<RailStep>& rail) {
  Json steps = Json::array();
  for (const RailStep& step : rail)
    steps.push_back({{"id", step.id}, {"name", step.name}, {"mark", name_of(step.mark)}});
  return steps;
}

Json metrics_of(const std::vector<analysis::Metric>& metrics) {
  Json out = Json::array();
  for (const analysis::Metric& metric : metrics)
    out.push_back({{"id", metric.id},
                   {"value_si", finite_or_null(metric.value)},
                   {"u_si", finite_or_null(metric.u)},
                   {"extrapolated", metric.extrapolated},
                   {"missing_reason", text_or_null(metric.missing_reason)}});
  return out;
}

// Only a kept record has a verdict: before that these keys are null.
void add_result(Json& json, const LineState& line) {
  const bool judged = line.phase == LinePhase::verdict && line.result;
  const LineResult none;
  const LineResult& result = judged ? *line.result : none;
  json["verdict"] = text_or_null(result.verdict);
  json["reason"] = text_or_null(result.sentence);
  json["reason_code"] = result.reasons.empty() ? Json(nullptr) : Json(result.reasons.front().code);
  json["standing"] = text_or_null(result.standing);
  json["standing_reason"] = text_or_null(result.standing_reason);
  json["cycle_s"] = finite_or_null(result.cycle_s);
  json["position"] = judged ? Json(result.position) : Json(nullptr);
  json["would_have_been"] = text_or_null(result.would_have_been);
  json["bench_check"] = text_or_null(result.check_sentence);
  json["bench_check_outcome"] = text_or_null(result.check_outcome);
  json["metrics"] = metrics_of(result.metrics);
}

Json facts_of(const LineState& line) {
  Json json = {{"bench", line.bench},
               {"bench_name", line.bench_name},
               {"version", line.version},
               {"phase", not_heard(line) ? "no_contact" : name_of(line.phase)},
               {"serial", text_or_null(line.serial)},
               {"model", text_or_null(line.model)},
               {"attempt", line.attempt},
               {"batch", text_or_null(line.batch)},
               {"purpose", text_or_null(line.purpose)},
               {"retest_reason", text_or_null(line.retest_reason)}};
  add_result(json, line);
  json["message"] = text_or_null(line.message);
  json["code"] = text_or_null(line.code);
  json["earlier"] = text_or_null(line.earlier);
  json["reasons_to_choose"] = line.reasons_to_choose;
  json["notices"] = line.notices;
  json["ignored_scan"] = text_or_null(line.ignored_scan);
  json["expected_s"] = finite(line.expected_s);
  json["left_s"] = finite_or_null(line.seconds_left);
  json["steps"] = rail_of(line.rail);
  json["live"] = live_of(line.live);
  json["simulated"] = line.simulated;
  return json;
}

}  // namespace

const char* name_of(LinePhase phase) {
  switch (phase) {
    case LinePhase::free:
      return "free";
    case LinePhase::ready:
      return "ready";
    case LinePhase::again:
      return "again";
    case LinePhase::refused:
      return "refused";
    case LinePhase::running:
      return "running";
    case LinePhase::storing:
      return "storing";
    case LinePhase::verdict:
      return "verdict";
    case LinePhase::out_of_use:
      return "out_of_use";
    case LinePhase::press_stop:
      return "press_stop";
  }
  return "out_of_use";
}

std::string refusal_json(std::string_view code, std::string_view sentence) {
  return written({{"code", code}, {"error", sentence}});
}

std::string refusal_json(std::string_view code, std::string_view sentence,
                         const std::vector<std::string>& faults) {
  return written({{"code", code}, {"error", sentence}, {"faults", faults}});
}

std::string line_json(const LineState& line) { return written(facts_of(line)); }

std::string lines_json(const std::vector<LineState>& lines) {
  Json all = Json::array();
  for (const LineState& line : lines) all.push_back(facts_of(line));
  return written({{"benches", all}});
}

std::string accepted_json(const std::string& id) { return written({{"accepted", id}}); }

std::string accepted_json(const std::string& id, const std::vector<std::string>& faults) {
  return written({{"accepted", id}, {"faults", faults}});
}

std::string health_json(const Application::Health& health) {
  return written({{"live", health.live},
                  {"ready", health.ready},
                  {"reasons", health.reasons},
                  {"last_position", health.last_position}});
}

std::string stopped_json(const std::string& bench) {
  return written({{"bench", bench}, {"stop", "sent"}});
}

}  // namespace endgate::daemon
