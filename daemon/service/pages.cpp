// The pages and their files.

#include "daemon/line/known_subject.h"
#include "daemon/queries/unit_events.h"
#include "daemon/service/assets.h"
#include "daemon/service/handlers.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"
#include "daemon/service/tests_question.h"
#include "daemon/views/birth_view.h"
#include "daemon/views/import_view.h"
#include "daemon/views/unit_view.h"
#include "daemon/views/units_view.h"
#include "reports/page_frame.h"
#include "reports/trend_page.h"

namespace endgate::daemon::handle {
namespace {

constexpr std::size_t kTracePoints = 1200;

UnitsAsked units_asked(const Request& request) {
  UnitsAsked asked{.tests = tests_asked(request),
                   .verdict = query_value(request, "verdict"),
                   .before = query_value(request, "before")};
  asked.tests.metric.clear();
  if (query_value(request, "purpose").empty()) asked.tests.purpose = kAllPurposes;
  return asked;
}

void send_asset(const Asset* asset, const Request& request, const Reply& reply) {
  if (asset == nullptr) return reply(refusal(404, "N-420", "There is nothing at this address."));
  Response response;
  response.content_type = asset->content_type;
  response.etag = asset->etag;
  response.cache_control = asset->content_type == "font/otf" ? "max-age=86400" : "no-cache";
  if (request.head.value("if-none-match") == asset->etag)
    response.status = 304;
  else
    response.fixed_body = asset->bytes;
  reply(std::move(response));
}

std::string benches_in_words(Application& application) {
  std::string words;
  for (const std::string& bench : application.benches())
    words += (words.empty() ? "" : ", ") + bench;
  return words;
}

Response unknown_unit(const schema::StoreReader& store, const std::string& serial,
                      const std::string& benches) {
  return html(reports::message_page("Units", "No unit " + serial + " is known here",
                                    "Nothing was tested under this serial on benches " + benches +
                                        "." + meant_by(store, serial)),
              404);
}

Response unknown_attempt(const std::string& serial) {
  return html(reports::message_page("Units", "There is no such attempt of " + serial,
                                    "Its page lists all attempts that are kept."),
              404);
}

// What people entered or imported is told without a test too.
Response untested_unit(const std::string& serial, const std::vector<UnitEvent>& events) {
  std::string known = "What is known of it:";
  for (const UnitEvent& event : events)
    known += " " + event.entry.what + ", " + event.entry.words + ", entered by " + event.entry.by +
             (event.withdrawal ? ", " + withdrawn_words(event) : "") + ".";
  return html(reports::message_page("Units", "No test of " + serial + " is kept here", known));
}

}  // namespace

void line_page(Application& application, const Request& request, const Reply& reply) {
  const auto named = request.parameters.find("bench");
  if (named != request.parameters.end() && !application.line(named->second))
    return reply(
        html(reports::message_page("Line", "No bench " + named->second + " here",
                                   "The benches are " + benches_in_words(application) + "."),
             404));
  send_asset(asset_of("line.html"), request, reply);
}

void units_page(Application& application, const Request& request, const Reply& reply) {
  const std::string serial = query_value(request, "serial");
  if (!serial.empty()) {
    Request to_unit = request;
    to_unit.parameters["serial"] = serial;
    return unit_page(application, to_unit, reply);
  }
  ask_store(application, reply, [asked = units_asked(request)](const schema::StoreReader& store) {
    const TestsKnown known = known_in(store);
    if (const auto wrong = wrong_with(asked, known))
      return html(
          reports::refusal_page("Units", "Units", wrong->sentence, units_form(asked, known)),
          wrong->status);
    return html(
        page_of(units_page_of(tests_listed(store, list_of(asked), known.models), asked, known)));
  });
}

void unit_page(Application& application, const Request& request, const Reply& reply) {
  const auto named = request.parameters.find("attempt");
  const bool unnamed = named == request.parameters.end();
  const auto attempt = unnamed ? std::nullopt : whole_number(named->second, 1000000);
  ask_store(application, reply,
            [serial = request.parameters.at("serial"), attempt, asked = unnamed || attempt,
             channel = query_value(request, "channel"),
             benches = benches_in_words(application)](const schema::StoreReader& store) {
              const UnitHistory unit = history_of(store, serial_known_as(store, serial));
              if (const auto events = events_of(unit); unit.tests.empty())
                return events.empty() ? unknown_unit(store, serial, benches)
                                      : untested_unit(unit.serial, events);
              const schema::StoredRecord* chosen = asked ? chosen_test(unit, attempt) : nullptr;
              if (chosen == nullptr) return unknown_attempt(unit.serial);
              return html(page_of(with_birth(
                  unit_page_of(unit, *chosen, trace_shown(store, *chosen, channel, kTracePoints)),
                  store, unit, *chosen)));
            });
}

void import_page(Application& application, const Request&, const Reply& reply) {
  ask_store(application, reply, [](const schema::StoreReader& store) {
    return html(page_of(import_page_of(store.imported_files())));
  });
}

void file(Application&, const Request& request, const Reply& reply) {
  send_asset(asset_of(request.parameters.at("file")), request, reply);
}

}  // namespace endgate::daemon::handle
