// The pages about many tests: one metric over batches or units, and all units of a model together.

#include <algorithm>

#include "daemon/line/control_history.h"
#include "daemon/queries/in_batches.h"
#include "daemon/service/handlers.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/tests_question.h"
#include "daemon/views/population_view.h"
#include "daemon/views/trend_view.h"
#include "reports/page_frame.h"

namespace endgate::daemon::handle {
namespace {

constexpr std::size_t kTestsShown = 500;

// Pages open on a metric.
TestsAsked asked_of_page(const Request& request) {
  TestsAsked asked = tests_asked(request);
  if (asked.metric.empty()) asked.metric = "fad_400";
  return asked;
}

std::string newest_model(const std::vector<schema::StoredRecord>& newest) {
  for (const schema::StoredRecord& stored : newest)
    if (stored.record.verdict != "void") return stored.record.start.model;
  return newest.empty() ? "" : newest.front().record.start.model;
}

// A question to the store that has models and benches to choose from.
struct Question {
  TestsAsked asked;
  TestsKnown known;
  std::vector<schema::StoredRecord> newest;
};

Question question_of(const schema::StoreReader& store, TestsAsked asked) {
  std::vector<schema::StoredRecord> newest = store.latest_records(kNewestLookedAt);
  TestsKnown known = known_in(store, newest);
  if (asked.model.empty()) asked.model = newest_model(newest);
  return {std::move(asked), std::move(known), std::move(newest)};
}

Response trends(const schema::StoreReader& store, const TestsAsked& asked, const std::string& by,
                const std::string& together) {
  const Question question = question_of(store, asked);
  if (question.newest.empty()) return nothing_kept_page("Trends");
  auto wrong = wrong_with(store, question.asked, question.known);
  if (!wrong && by != "batch" && by != "unit")
    wrong = {400, "Tests are shown by batch or by unit, not by \"" + by + "\"."};
  const MetricList metrics =
      together.empty() ? MetricList{} : metrics_together(question.asked.metric, together);
  if (const auto* sentence = std::get_if<std::string>(&metrics); sentence && !wrong)
    wrong = {400, *sentence};
  if (wrong)
    return html(reports::refusal_page("Trends", "Trends", wrong->sentence,
                                      trend_form(question.asked, question.known, by, together)),
                wrong->status);
  const TrendFilter filter = filter_of(question.asked);
  TrendContext context{question.asked, question.known,
                       limit_held_last(store, question.asked.model, question.asked.metric),
                       together};
  std::vector<ControlVersion> versions = control_versions(store, filter, question.asked.metric);
  if (!versions.empty()) context.frozen = versions.back();
  if (by == "unit")
    return html(page_of(
        unit_trend_page(context, tests_shown(store, filter, question.asked.metric, kTestsShown))));
  if (!together.empty())
    context.together = together_of(store, filter, std::get<std::vector<std::string>>(metrics));
  return html(page_of(batch_trend_page(
      context, *told_of(store, filter, question.asked.metric, std::move(versions)),
      batches_by_bench(
          in_batches(columns_of(store, filter, question.asked.metric)).read.columns))));
}

std::vector<CapabilityTold> capabilities_of(const schema::StoreReader& store,
                                            const TrendFilter& filter) {
  std::vector<CapabilityTold> all;
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts)
    if (auto told = capability_of(store, filter, std::string(facts.id)); !told->values.empty())
      all.push_back(std::move(*told));
  return all;
}

Response population(const schema::StoreReader& store, const TestsAsked& asked,
                    const DraftAsked& draft, const ShiftPlan& shifts, bool with_returns) {
  const Question question = question_of(store, asked);
  if (question.newest.empty()) return nothing_kept_page("Population");
  if (const auto wrong = wrong_with(store, question.asked, question.known))
    return html(reports::refusal_page("Population", "Population", wrong->sentence,
                                      population_form(question.asked, question.known)),
                wrong->status);
  const TrendFilter filter = filter_of(question.asked);
  const DraftRead read = read_draft(question.asked.metric, draft);
  PopulationTold told{.asked = question.asked,
                      .known = question.known,
                      .capabilities = capabilities_of(store, filter),
                      .yield = yield_of(store, filter, shifts),
                      .causes = fail_causes_of(store, filter),
                      .draft = draft,
                      .draft_wrong = read.wrong};
  if (with_returns)
    told.returns = {returns_of(store, filter), cause_agreement_of(store, filter.model)};
  if (!draft.empty() && read.wrong.empty())
    told.answer = daemon::what_if(store, filter, read.limit);
  return html(page_of(population_page_of(told)), read.wrong.empty() ? 200 : 400);
}

}  // namespace

void trends_page(Application& application, const Request& request, const Reply& reply) {
  const std::string by = query_value(request, "by");
  const std::string together = query_value(request, "together");
  ask_store(application, reply,
            [asked = asked_of_page(request), by = by.empty() ? "batch" : by, together](
                const schema::StoreReader& store) { return trends(store, asked, by, together); });
}

void population_page(Application& application, const Request& request, const Reply& reply) {
  const DraftAsked draft{query_value(request, "lower"), query_value(request, "upper")};
  ask_store(
      application, reply,
      [asked = asked_of_page(request), draft, shifts = ShiftPlan{application.shift_begins_min()},
       with_returns = !query_value(request, "returns").empty()](const schema::StoreReader& store) {
        return population(store, asked, draft, shifts, with_returns);
      });
}

}  // namespace endgate::daemon::handle
