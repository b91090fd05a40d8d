// How surely whole units are judged, and batches in several metrics together, as JSON.

#include "daemon/service/json_population.h"
#include "daemon/service/json_value.h"

namespace endgate::daemon {

std::string risk_json(const UnitRiskTold& told) {
  const statistics::UnitRisk& risk = told.risk;
  Json alone = Json::array();
  for (std::size_t i = 0; i < risk.good_held_back_alone.size(); ++i)
    alone.push_back({{"metric", told.metrics[i]},
                     {"good_held_back", finite(risk.good_held_back_alone[i])},
                     {"of_good", finite_or_null(of_good(risk, risk.good_held_back_alone[i]))}});
  Json json = {{"model", told.model},
               {"tests", told.tests},
               {"units_drawn", risk.drawn},
               {"sentences", words_of(told)}};
  const bool known = risk.drawn > 0;
  for (const auto& [name, share] : {std::pair<const char*, double>{"bad", risk.bad},
                                    {"pass", risk.pass},
                                    {"fail", risk.fail},
                                    {"undecided", risk.undecided},
                                    {"bad_passed", risk.bad_passed},
                                    {"good_failed", risk.good_failed},
                                    {"good_undecided", risk.good_undecided}})
    json[name] = known ? Json(finite(share)) : Json(nullptr);
  // What the sentences and the page say: of the good units, of those passed.
  const auto if_known = [&](const std::optional<double>& share) {
    return known ? finite_or_null(share) : Json(nullptr);
  };
  json["good_failed_of_good"] = if_known(of_good(risk, risk.good_failed));
  json["good_undecided_of_good"] = if_known(of_good(risk, risk.good_undecided));
  json["bad_passed_of_passed"] = if_known(bad_of_passed(risk));
  json["limits_left_out"] = told.left_out;
  json["each_limit_alone"] = alone;
  return written(json);
}

std::string together_json(const TogetherTold& told) {
  Json batches = Json::array(), signals = Json::array();
  for (std::size_t i = 0; i < told.joint.batches.size(); ++i) {
    const statistics::JointBatch& batch = told.joint.batches[i];
    Json deviations = Json::object();
    for (std::size_t m = 0; m < told.metrics.size(); ++m)
      deviations[told.metrics[m]] = finite(batch.deviations[m]);
    batches.push_back({{"batch", told.names[i]},
                       {"n", batch.n},
                       {"distance", finite(batch.distance)},
                       {"beyond_limit", batch.distance > told.joint.limit},
                       {"deviations_sd", deviations}});
  }
  for (const std::size_t at : signals_of(told))
    signals.push_back({{"batch", told.names[at]}, {"sentence", words_of_batch(told, at)}});
  const bool known = told.refusal.empty();
  return written({{"metrics", told.metrics},
                  {"tests", told.tests},
                  {"tests_that_lack_a_metric", told.incomplete},
                  {"none_because", text_or_null(told.refusal)},
                  {"sentence", known ? Json(sentence_of(told)) : Json(nullptr)},
                  {"limit", known ? Json(finite(told.joint.limit)) : Json(nullptr)},
                  {"one_false_signal_in_batches", 1 / statistics::kJointFalseAlarm},
                  {"signals", signals},
                  {"batches", batches}});
}

}  // namespace endgate::daemon
