// Which limits a model had, which control limits were frozen, and how surely whole units are judged:
// each as JSON and as a page.

#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/json_limits.h"
#include "daemon/service/json_population.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/tests_question.h"
#include "daemon/views/limits_view.h"
#include "daemon/views/risk_view.h"
#include "reports/page_frame.h"

namespace endgate::daemon::handle {
namespace {

std::string no_limits_of(const std::string& model) {
  return "No limits of " + model + " were accepted here.";
}

LimitVersions limit_versions(const schema::StoreReader& store, const std::string& model) {
  LimitVersions versions = store.definitions();
  std::erase_if(versions, [&](const schema::Definition& each) {
    return each.kind != "limits" || each.subject != model;
  });
  return versions;
}

// A text that can no longer be read tells its model by its subject (control_subject).
bool is_about(const std::string& subject, const std::string& model) {
  return subject.substr(0, subject.find(' ')) == model;
}

std::vector<FrozenText> frozen_of(const schema::StoreReader& store, const TestsAsked& asked) {
  std::vector<FrozenText> texts = frozen_texts(store);
  std::erase_if(texts, [&](const FrozenText& text) {
    if (!text.facts) return !asked.model.empty() && !is_about(text.version.subject, asked.model);
    return ((!asked.model.empty() && text.facts->model != asked.model) ||
            (!asked.metric.empty() && text.facts->metric != asked.metric));
  });
  return texts;
}

// Model and metric of a page that was opened without them.
TestsAsked with_defaults(TestsAsked asked, const TestsKnown& known) {
  if (asked.model.empty() && !known.models.empty()) asked.model = known.models.front();
  if (asked.metric.empty()) asked.metric = "fad_400";
  return asked;
}

Response limits_page_answer(const schema::StoreReader& store, const TestsAsked& wanted) {
  const TestsKnown known = known_in(store);
  const TestsAsked asked = with_defaults(wanted, known);
  if (asked.model.empty()) return nothing_kept_page("Population");
  const reports::QuestionForm form = limits_form(kLimitsAddress, asked, known);
  if (const auto wrong = wrong_with(asked, known))
    return html(reports::refusal_page("Population", "Limits", wrong->sentence, form),
                wrong->status);
  const LimitVersions versions = limit_versions(store, asked.model);
  if (versions.empty())
    return html(reports::refusal_page("Population", "Limits", no_limits_of(asked.model), form),
                404);
  return html(page_of(limits_page_of(versions, limit_history(store, asked.model), asked, form)));
}

Response control_page_answer(const schema::StoreReader& store, const TestsAsked& wanted) {
  const TestsKnown known = known_in(store);
  const TestsAsked asked = with_defaults(wanted, known);
  if (asked.model.empty()) return nothing_kept_page("Trends");
  const reports::QuestionForm form = limits_form(kControlAddress, asked, known);
  if (const auto wrong = wrong_with(asked, known))
    return html(reports::refusal_page("Trends", "Frozen control limits", wrong->sentence, form),
                wrong->status);
  const auto texts = frozen_of(store, {.model = asked.model});
  if (texts.empty())
    return html(reports::refusal_page(
        "Trends", "Frozen control limits",
        "No control limits of " + asked.model +
            " were frozen here. The command endgate control "
            "freeze makes them from a span of batches in which nothing went wrong.",
        form));
  return html(page_of(control_page_of(texts, asked, form)));
}

Response risk_page_answer(const schema::StoreReader& store, TestsAsked asked) {
  const TestsKnown known = known_in(store);
  if (asked.model.empty() && !known.models.empty()) asked.model = known.models.front();
  if (asked.model.empty()) return nothing_kept_page("Population");
  const reports::QuestionForm form = risk_form(asked, known);
  if (const auto wrong = wrong_with(store, asked, known))
    return html(reports::refusal_page("Population", "How surely is a whole unit judged?",
                                      wrong->sentence, form),
                wrong->status);
  return html(page_of(risk_page_of(unit_risk_of(store, filter_of(asked)), form)));
}

}  // namespace

void limits(Application& application, const Request& request, const Reply& reply) {
  if (auto unknown = unknown_name(request, {"model"})) return reply(std::move(*unknown));
  const std::string model = query_value(request, "model");
  if (model.empty())
    return reply(refusal(400, "U-257", "Say which model: model=MODEL. Models are not mixed."));
  ask_store(application, reply, [model](const schema::StoreReader& store) {
    const std::vector<LimitChange> changes = limit_history(store, model);
    if (changes.empty()) return refusal(404, "U-258", no_limits_of(model));
    return json(limits_json(model, changes));
  });
}

void limits_page(Application& application, const Request& request, const Reply& reply) {
  ask_store(application, reply, [asked = tests_asked(request)](const schema::StoreReader& store) {
    return limits_page_answer(store, asked);
  });
}

void control(Application& application, const Request& request, const Reply& reply) {
  if (auto unknown = unknown_name(request, {"model", "metric"})) return reply(std::move(*unknown));
  ask_store(application, reply, [asked = tests_asked(request)](const schema::StoreReader& store) {
    const TestsKnown known = known_in(store);
    const TestsAsked named = with_defaults(asked, known);
    if (const auto wrong = wrong_with(named, known); wrong && !named.model.empty())
      return refusal(wrong->status, "U-265", wrong->sentence);
    return json(control_json(frozen_of(store, asked)));
  });
}

void control_page(Application& application, const Request& request, const Reply& reply) {
  ask_store(application, reply, [asked = tests_asked(request)](const schema::StoreReader& store) {
    return control_page_answer(store, asked);
  });
}

void risk(Application& application, const Request& request, const Reply& reply) {
  ask_tests(application, request, reply, AsksFor::all_metrics,
            [](const schema::StoreReader& store, const TrendFilter& filter) {
              return json(risk_json(unit_risk_of(store, filter)));
            });
}

void risk_page(Application& application, const Request& request, const Reply& reply) {
  TestsAsked asked = tests_asked(request);
  asked.metric.clear();
  ask_store(application, reply,
            [asked](const schema::StoreReader& store) { return risk_page_answer(store, asked); });
}

}  // namespace endgate::daemon::handle
