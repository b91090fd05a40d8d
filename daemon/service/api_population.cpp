// What all units of a model say together: batches and causes, capability, yield, what-if.
// The same filters for all (daemon/service/tests_question.h).

#include "daemon/definitions/typed_number.h"
#include "daemon/line/control_history.h"
#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/json_population.h"
#include "daemon/service/json_returns.h"
#include "daemon/service/tests_question.h"

namespace endgate::daemon::handle {
namespace {

// False: `text` is there and no number.
bool read_number(const std::string& text, std::optional<double>& into) {
  if (text.empty()) return true;
  into = typed_number(text);
  return into.has_value();
}

}  // namespace

void trend_batches(Application& application, const Request& request, const Reply& reply) {
  ask_tests(application, request, reply, AsksFor::metric,
            [metric = query_value(request, "metric")](const schema::StoreReader& store,
                                                      const TrendFilter& filter) {
              return json(told_json(
                  told_of(store, filter, metric, control_versions(store, filter, metric)).value()));
            });
}

void trend_together(Application& application, const Request& request, const Reply& reply) {
  const MetricList metrics =
      metrics_together(query_value(request, "metric"), query_value(request, "together"));
  if (const auto* wrong = std::get_if<std::string>(&metrics);
      wrong && !query_value(request, "metric").empty())
    return reply(refusal(400, "U-256", *wrong));
  ask_tests(application, request, reply, AsksFor::metric,
            [metrics](const schema::StoreReader& store, const TrendFilter& filter) {
              return json(together_json(
                  together_of(store, filter, std::get<std::vector<std::string>>(metrics))));
            },
            {"together"});
}

void capability(Application& application, const Request& request, const Reply& reply) {
  ask_tests(application, request, reply, AsksFor::metric,
            [metric = query_value(request, "metric")](const schema::StoreReader& store,
                                                      const TrendFilter& filter) {
              return json(capability_json(capability_of(store, filter, metric).value()));
            });
}

void yield(Application& application, const Request& request, const Reply& reply) {
  ask_tests(
      application, request, reply, AsksFor::all_metrics,
      [shifts = ShiftPlan{application.shift_begins_min()}](const schema::StoreReader& store,
                                                           const TrendFilter& filter) {
        return json(yield_json(yield_of(store, filter, shifts), fail_causes_of(store, filter)));
      });
}

void returns(Application& application, const Request& request, const Reply& reply) {
  ask_tests(application, request, reply, AsksFor::all_metrics,
            [](const schema::StoreReader& store, const TrendFilter& filter) {
              return json(
                  returns_json(returns_of(store, filter), cause_agreement_of(store, filter.model)));
            });
}

void what_if(Application& application, const Request& request, const Reply& reply) {
  DraftLimit draft{.metric = query_value(request, "metric")};
  if (!read_number(query_value(request, "lower_si"), draft.lower) ||
      !read_number(query_value(request, "upper_si"), draft.upper) ||
      (!query_value(request, "model").empty() && !draft.lower && !draft.upper))
    return reply(refusal(400, "U-216", "Give lower_si, upper_si or both as numbers in SI."));
  if (draft.lower && draft.upper && *draft.lower >= *draft.upper)
    return reply(refusal(400, "U-216", "lower_si must be below upper_si."));
  ask_tests(application, request, reply, AsksFor::metric,
            [draft](const schema::StoreReader& store, const TrendFilter& filter) {
              const auto answer = daemon::what_if(store, filter, draft);
              return answer ? json(what_if_json(*answer, draft.metric))
                            : refusal(404, "U-217",
                                      "No such test of that model has a value of that metric.");
            },
            {"lower_si", "upper_si"});
}

}  // namespace endgate::daemon::handle
