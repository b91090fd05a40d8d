#include "daemon/service/json_returns.h"

#include "daemon/queries/returns_words.h"
#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

Json interval_of(const statistics::Interval& interval) {
  return Json::array({finite(interval.low), finite(interval.high)});
}

Json counts_of(const Share& share) { return {{"count", share.count}, {"of", share.of}}; }

Json steps_of(const ReturnsTold& told) {
  Json steps = Json::array();
  for (const statistics::ShareOut& step : told.steps)
    steps.push_back(
        {{"months", finite(step.time)},
         {"at_risk", step.at_risk},
         {"came_back", step.returned},
         {"share_out", finite(step.share)},
         {"u", finite(step.u)},
         {"interval_95",
          told.times_lack() ? Json(nullptr) : interval_of(statistics::share_interval(step))}});
  return steps;
}

Json form_of(const ReturnsTold& told) {
  if (!told.form) return nullptr;
  return {{"form", "weibull"},
          {"scale_months", finite(told.form->scale)},
          {"scale_interval_95", interval_of(told.form->scale_95)},
          {"shape", finite(told.form->shape)},
          {"shape_interval_95", interval_of(told.form->shape_95)},
          {"log_likelihood", finite(told.form->log_likelihood)}};
}

Json metrics_of(const ReturnsTold& told) {
  Json metrics = Json::array();
  for (const ReturnsTold::Tells& tells : told.metrics)
    metrics.push_back({{"metric", tells.metric->id},
                       {"units", tells.units},
                       {"came_back", tells.back},
                       {"ratio_for_one_step_of_rank", finite(tells.step.ratio())},
                       {"interval_95", interval_of(tells.step.ratio_95())},
                       {"p", finite(tells.step.p)},
                       {"p_adjusted", finite(tells.p_adjusted)},
                       {"told", tells.told()}});
  return metrics;
}

Json agreement_of(const CauseAgreement& told) {
  Json rows = Json::array();
  for (const CauseAgreement::Row& row : told.rows)
    rows.push_back({{"found", row.found},
                    {"stated_first", counts_of(row.first)},
                    {"among_first_two", counts_of(row.among_two)}});
  Json quarters = Json::array();
  for (const CauseAgreement::Quarter& quarter : told.quarters)
    quarters.push_back({{"year", quarter.year},
                        {"quarter", quarter.quarter},
                        {"stated_first", counts_of(quarter.first)},
                        {"among_first_two", counts_of(quarter.among_two)}});
  return {{"repairs", told.repairs},
          {"found_in_words_only", told.in_words},
          {"no_cause_stated_before", told.not_stated},
          {"stated_first", counts_of(told.first)},
          {"among_first_two", counts_of(told.among_two)},
          {"by_finding", rows},
          {"by_quarter", quarters},
          {"list_of_causes_not_readable", told.unreadable},
          {"older_repairs_not_looked_at", told.older_left_out}};
}

}  // namespace

std::string returns_json(const ReturnsTold& told, const CauseAgreement& agreement) {
  return written(
      {{"model", told.model},
       {"as_of_utc_ms", told.as_of_utc_ms},
       {"came_back", counts_of(told.back)},
       {"came_back_never_passed", told.never_passed},
       {"time_not_stated", told.not_stated},
       {"time_longer_than_age", told.too_long},
       {"assumes", kReturnsAssume},
       {"still_out", steps_of(told)},
       {"form", form_of(told)},
       {"no_form_because", text_or_null(told.no_form)},
       {"metrics", metrics_of(told)},
       {"metrics_in_words", metrics_words(told)},
       {"least_ratio_told", told.least_ratio > 0 ? Json(told.least_ratio) : Json(nullptr)},
       {"cause_agreement", agreement_of(agreement)}});
}

}  // namespace endgate::daemon
