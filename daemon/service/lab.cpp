// The lab's questions, each as JSON and as a page: units side by side, one unit as it runs.

#include "daemon/service/handlers.h"
#include "daemon/service/json_lab.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"
#include "daemon/views/lab_view.h"
#include "reports/trend_page.h"

namespace endgate::daemon::handle {
namespace {

constexpr std::size_t kMostBeside = 8;
constexpr const char* kTooMany = "At most eight units are shown side by side.";

EnduranceAsked endurance_asked(const Request& request) {
  EnduranceAsked asked{.serial = query_value(request, "unit"),
                       .over = query_value(request, "over")};
  if (const std::string metric = query_value(request, "metric"); !metric.empty())
    asked.metric = metric;
  return asked;
}

// Empty: it can be asked of this store.
std::string wrong_endurance(const schema::StoreReader& store, const EnduranceAsked& asked) {
  if (asked.serial.empty()) return "Name a unit: its serial.";
  if (analysis::facts_of_metric(asked.metric) == nullptr)
    return "There is no metric " + asked.metric + ".";
  if (!asked.over.empty() && asked.over != "bench" && asked.over != "days")
    return "Time is over bench hours (bench) or days, not \"" + asked.over + "\".";
  if (store.records_of(asked.serial).empty())
    return "There is no test of " + asked.serial + " here.";
  return "";
}

EnduranceTold endurance_told(const schema::StoreReader& store, const EnduranceAsked& asked) {
  return endurance_of(store, asked.serial, asked.metric, asked.over == "days");
}

Response endurance_page_answer(const schema::StoreReader& store, const EnduranceAsked& asked) {
  if (const std::string wrong = wrong_endurance(store, asked); !wrong.empty())
    return html(
        reports::refusal_page("Units", "How a unit moves as it runs", wrong, endurance_form(asked)),
        asked.serial.empty() ? 200 : 404);
  return html(page_of(daemon::endurance_page(endurance_told(store, asked), asked)));
}

}  // namespace

void compare(Application& application, const Request& request, const Reply& reply) {
  if (auto unknown = unknown_name(request, {"units"})) return reply(std::move(*unknown));
  const std::vector<std::string> names = units_named(query_value(request, "units"));
  if (names.size() < 2)
    return reply(refusal(400, "U-250", "Name two units or more: units=SERIAL,SERIAL."));
  if (names.size() > kMostBeside) return reply(refusal(400, "U-250", kTooMany));
  ask_store(application, reply, [names](const schema::StoreReader& store) {
    Response response;
    response.body = side_by_side_json(side_by_side(store, names));
    return response;
  });
}

void compare_page(Application& application, const Request& request, const Reply& reply) {
  const std::string text = query_value(request, "units");
  ask_store(application, reply, [text](const schema::StoreReader& store) {
    std::vector<std::string> names = units_named(text);
    const bool too_many = names.size() > kMostBeside;
    if (too_many) names.resize(kMostBeside);
    reports::AnswerPage page = daemon::compare_page(side_by_side(store, names), text);
    if (too_many) page.statements.insert(page.statements.begin(), kTooMany);
    return html(page_of(page));
  });
}

void endurance(Application& application, const Request& request, const Reply& reply) {
  if (auto unknown = unknown_name(request, {"unit", "metric", "over"}))
    return reply(std::move(*unknown));
  ask_store(application, reply,
            [asked = endurance_asked(request)](const schema::StoreReader& store) {
              if (const std::string wrong = wrong_endurance(store, asked); !wrong.empty())
                return refusal(asked.serial.empty() ? 400 : 404, "U-250", wrong);
              Response response;
              response.body = endurance_json(endurance_told(store, asked));
              return response;
            });
}

void endurance_page(Application& application, const Request& request, const Reply& reply) {
  ask_store(application, reply,
            [asked = endurance_asked(request)](const schema::StoreReader& store) {
              return endurance_page_answer(store, asked);
            });
}

}  // namespace endgate::daemon::handle
