#include "daemon/service/json_lab.h"

#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

Json beside_json(const UnitBeside& unit, const SideBySide& told) {
  const schema::Record& record = unit.test.record;
  Json metrics = Json::array(), curve = Json::array();
  for (const analysis::MetricFacts* facts : told.metrics) {
    const schema::MetricValue* metric = metric_in(unit, *facts);
    if (metric == nullptr) continue;
    Json one{{"metric", facts->id},
             {"si_unit", facts->si_unit},
             {"value_si", finite_or_null(metric->value)},
             {"u_si", finite_or_null(metric->u)}};
    if (const analysis::Difference* d = difference_in(unit, *facts)) {
      one["difference_to_first_si"] = finite(d->change);
      one["u_difference_si"] = finite_or_null(d->u);
      one["differs"] = d->significant();
    }
    metrics.push_back(std::move(one));
  }
  for (const schema::DrawnPoint& point : record.drawn)
    curve.push_back({{"pressure_gauge_pa", finite(point.gauge_pa)},
                     {"flow_m3_s", finite(point.flow_m3_s)},
                     {"u_m3_s", finite(point.u_m3_s)}});
  return {{"serial", record.start.serial},   {"attempt", record.start.attempt},
          {"model", record.start.model},     {"bench", record.start.bench},
          {"purpose", record.start.purpose}, {"verdict", record.verdict},
          {"position", unit.test.position},  {"metrics", std::move(metrics)},
          {"curve", std::move(curve)}};
}

Json path_json(const EnduranceTold& told) {
  if (!told.path) return nullptr;
  const statistics::Degradation& path = *told.path;
  const char* const forms[] = {"straight", "root_of_time", "square_of_time"};
  return {{"form", forms[static_cast<std::size_t>(path.form)]},
          {"start_si", finite(path.start)},
          {"slope_si", finite(path.slope)},
          {"u_slope_si", finite(path.slope_u)},
          {"slope_p", finite(path.slope_p)},
          {"scatter_si", finite(path.scatter)},
          {"last_time_s", finite(path.last_time)}};
}

Json limits_json(const EnduranceTold& told) {
  Json limits = Json::array();
  for (const LimitReached& limit : told.limits)
    limits.push_back({{"side", limit.lower ? "lower" : "upper"},
                      {"limit_si", finite(limit.at)},
                      {"beyond_already", limit.now},
                      {"time_s", finite_or_null(limit.time.time)},
                      {"not_before_s", finite(limit.time.not_before)},
                      {"not_after_s", finite_or_null(limit.time.not_after)}});
  return limits;
}

}  // namespace

std::string side_by_side_json(const SideBySide& told) {
  Json units = Json::array();
  for (const UnitBeside& unit : told.units) units.push_back(beside_json(unit, told));
  return written(
      {{"not_found", told.not_found}, {"sentences", words_of(told)}, {"units", std::move(units)}});
}

std::string endurance_json(const EnduranceTold& told) {
  Json points = Json::array();
  for (const EndurancePoint& point : told.points)
    points.push_back({{"attempt", point.attempt},
                      {"bench", point.bench},
                      {"purpose", point.purpose},
                      {"time_s", finite(point.time_s)},
                      {"value_si", finite(point.value)},
                      {"u_si", finite_or_null(point.u)}});
  return written({{"serial", told.serial},
                  {"model", told.model},
                  {"metric", told.metric->id},
                  {"si_unit", told.metric->si_unit},
                  {"over", told.over_days ? "days" : "bench"},
                  {"path", path_json(told)},
                  {"none_because", text_or_null(told.no_path)},
                  {"limits", limits_json(told)},
                  {"sentences", words_of(told)},
                  {"points", std::move(points)}});
}

}  // namespace endgate::daemon
