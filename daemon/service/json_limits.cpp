#include "daemon/service/json_limits.h"

#include <cmath>

#include "analysis/limit_subject.h"
#include "daemon/service/json_value.h"
#include "daemon/views/limits_view.h"

namespace endgate::daemon {
namespace {

// What a limit on the curve or on a relation says beside its bounds.
void add_curve_or_relation(Json& json, const std::string& metric, const LimitChange& change) {
  if (!change.limit || analysis::is_one_metric(metric)) return;
  if (metric != analysis::kCurveSubject) {
    json["slope_si"] = finite(change.limit->slope);
    json["intercept_si"] = finite(change.limit->intercept);
    return;
  }
  json["points"] = Json::array();
  for (const analysis::BandPoint& point : change.limit->points)
    json["points"].push_back({{"gauge_pa", finite(point.gauge_pa)},
                              {"lower_si", finite_or_null(point.lower)},
                              {"upper_si", finite_or_null(point.upper)}});
}

// Of a change that says it: a text that no longer loads and a limit no longer held say none.
void add_limit(Json& json, const LimitChange& change) {
  const bool held = change.limit.has_value();
  json["held"] = held;
  json["lower_si"] = held ? finite_or_null(change.limit->lower) : Json(nullptr);
  json["upper_si"] = held ? finite_or_null(change.limit->upper) : Json(nullptr);
  json["has_band"] = held && change.limit->guard != analysis::GuardRule::none;
  json["pass_factor"] = held ? Json(finite(change.limit->pass_factor)) : Json(nullptr);
  json["fail_factor"] = held ? Json(finite(change.limit->fail_factor)) : Json(nullptr);
  json["warns_only"] = held && change.limit->severity == analysis::Severity::warn;
}

Json change_json(const LimitChange& change) {
  const ClassAndMetric named = class_and_metric(change.metric);
  Json json = {{"version", change.version},
               {"accepted_utc_ms", change.at_utc_ms},
               {"by", change.by},
               {"second_by", text_or_null(change.second_by)},
               {"why", change.why},
               {"class", text_or_null(named.in_class)},
               {"metric", text_or_null(named.metric)}};
  add_limit(json, change);
  add_curve_or_relation(json, named.metric, change);
  json["sentence"] = words_of(change);
  return json;
}

Json run_length_json(double batches) {
  return std::isfinite(batches) ? Json(batches) : Json(nullptr);
}

void add_control(Json& json, const ControlFacts& facts) {
  const statistics::ControlLimits& limits = facts.limits;
  Json rules = Json::array();
  for (const statistics::ControlRule rule : facts.rules.list())
    rules.push_back(statistics::kControlRuleNames[static_cast<std::size_t>(rule)]);
  json["model"] = facts.model;
  json["metric"] = facts.metric;
  json["bench"] = text_or_null(facts.bench);
  json["purpose"] = facts.purpose;
  json["first_batch"] = facts.from.first_batch;
  json["last_batch"] = facts.from.last_batch;
  json["batches"] = facts.from.batches;
  json["tests"] = facts.from.tests;
  json["centre_si"] = finite(limits.centre);
  json["sigma_between_si"] = finite(limits.sigma_between);
  json["sigma_inside_si"] = finite(limits.sigma_inside);
  json["widening"] = finite(limits.widening);
  json["neighbour_correlation"] = finite(limits.likeness);
  json["run_length_batches"] = run_length_json(facts.run_length.expected);
  json["rules"] = rules;
  json["judges_behind_position"] = facts.behind_position;
}

}  // namespace

std::string limits_json(const std::string& model, const std::vector<LimitChange>& changes) {
  Json out = Json::array();
  for (const LimitChange& change : changes) out.push_back(change_json(change));
  return written({{"model", model}, {"names", "claimed"}, {"changes", out}});
}

std::string control_json(const std::vector<FrozenText>& texts) {
  Json out = Json::array();
  for (const FrozenText& text : texts) {
    Json json = {{"subject", text.version.subject},
                 {"version", text.version.version},
                 {"frozen_utc_ms", text.version.at.utc_ms},
                 {"by", text.version.by},
                 {"why", text.version.why},
                 {"readable", text.facts.has_value()}};
    if (text.facts) add_control(json, *text.facts);
    out.push_back(std::move(json));
  }
  return written({{"names", "claimed"}, {"versions", out}});
}

}  // namespace endgate::daemon
