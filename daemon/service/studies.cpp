// Studies of the measurement and the curve of a data sheet, each as JSON and as a page.

#include "daemon/service/handlers.h"
#include "daemon/service/json_studies.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/tests_question.h"
#include "daemon/views/gauge_view.h"
#include "daemon/views/rating_view.h"
#include "reports/page_frame.h"

namespace endgate::daemon::handle {
namespace {

StudyQuestion study_question(const Request& request) {
  StudyQuestion question{.tests = tests_asked(request),
                         .serials = query_value(request, "units"),
                         .by = query_value(request, "by"),
                         .repeats = query_value(request, "repeats")};
  question.tests.purpose = query_value(request, "purpose");
  return question;
}

Response study_json_answer(const schema::StoreReader& store, StudyQuestion question) {
  const auto read = read_study(std::move(question), known_in(store));
  if (const auto* wrong = std::get_if<WrongQuestion>(&read))
    return refusal(wrong->status, "U-251", wrong->sentence);
  const StudyRead& study = std::get<StudyRead>(read);
  const std::string& metric = study.question.tests.metric;
  Response response;
  response.body =
      study.question.one_unit()
          ? one_unit_json(one_unit_of(store, study.filter, metric, study.asked, study.one_unit))
          : gauge_json(gauge_of(store, study.filter, metric, study.asked));
  return response;
}

Response study_page_answer(const schema::StoreReader& store, StudyQuestion question) {
  const TestsKnown known = known_in(store);
  if (question.tests.model.empty() && !known.models.empty())
    question.tests.model = known.models.front();
  const auto read = read_study(question, known);
  if (const auto* wrong = std::get_if<WrongQuestion>(&read)) {
    if (question.tests.purpose.empty()) question.tests.purpose = "lab";
    return html(reports::refusal_page("Population", "How much of it is the measurement?",
                                      wrong->sentence, gauge_form(question, known)),
                wrong->status);
  }
  const StudyRead& study = std::get<StudyRead>(read);
  const std::string& metric = study.question.tests.metric;
  reports::QuestionForm form = gauge_form(study.question, known);
  if (study.question.one_unit())
    return html(page_of(one_unit_page(
        one_unit_of(store, study.filter, metric, study.asked, study.one_unit), std::move(form))));
  return html(
      page_of(gauge_page(gauge_of(store, study.filter, metric, study.asked), std::move(form))));
}

CoverageAsked coverage_asked(const Request& request) {
  return {query_value(request, "share"), query_value(request, "confidence")};
}

Response rating_page_answer(const schema::StoreReader& store, TestsAsked asked,
                            const CoverageAsked& coverage) {
  const TestsKnown known = known_in(store);
  if (asked.model.empty() && !known.models.empty()) asked.model = known.models.front();
  const reports::QuestionForm form = rating_form(asked, known, coverage);
  auto wrong = wrong_with(store, asked, known);
  const auto read = read_coverage(coverage);
  if (!wrong && !read) wrong = {400, kWrongCoverage};
  if (wrong)
    return html(reports::refusal_page("Population", "What may a data sheet promise?",
                                      wrong->sentence, form),
                wrong->status);
  return html(page_of(daemon::rating_page(rating_of(store, filter_of(asked), *read), form)));
}

}  // namespace

void rating(Application& application, const Request& request, const Reply& reply) {
  const auto coverage = read_coverage(coverage_asked(request));
  if (!coverage) return reply(refusal(400, "U-252", kWrongCoverage));
  ask_tests(application, request, reply, AsksFor::all_metrics,
            [coverage](const schema::StoreReader& store, const TrendFilter& filter) {
              Response response;
              response.body = rating_json(rating_of(store, filter, *coverage));
              return response;
            },
            {"share", "confidence"});
}

void rating_page(Application& application, const Request& request, const Reply& reply) {
  TestsAsked asked = tests_asked(request);
  asked.metric.clear();
  ask_store(application, reply,
            [asked, coverage = coverage_asked(request)](const schema::StoreReader& store) {
              return rating_page_answer(store, asked, coverage);
            });
}

void gauge(Application& application, const Request& request, const Reply& reply) {
  if (auto unknown = unknown_name(
          request, {"model", "metric", "bench", "batch", "purpose", "since", "until", "lot",
                    "units", "by", "repeats", "known_si", "known_u_si", "width_si"}))
    return reply(std::move(*unknown));
  StudyQuestion question = study_question(request);
  question.si = true;
  question.known = query_value(request, "known_si");
  question.known_u = query_value(request, "known_u_si");
  question.width = query_value(request, "width_si");
  if (question.tests.model.empty())
    return reply(refusal(400, "U-251", "Say which model: model=MODEL. Models are not mixed."));
  if (question.tests.metric.empty())
    return reply(refusal(400, "U-251", "Say which metric: metric=fad_400."));
  ask_store(application, reply, [question](const schema::StoreReader& store) {
    return study_json_answer(store, question);
  });
}

void gauge_page(Application& application, const Request& request, const Reply& reply) {
  StudyQuestion question = study_question(request);
  if (question.tests.metric.empty()) question.tests.metric = "fad_400";
  question.known = query_value(request, "known");
  ask_store(application, reply, [question](const schema::StoreReader& store) {
    return study_page_answer(store, question);
  });
}

}  // namespace endgate::daemon::handle
