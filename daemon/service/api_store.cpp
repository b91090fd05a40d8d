// What is kept: units, standings, attempts, traces, trends.

#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/json_write.h"
#include "daemon/service/tests_question.h"
#include "daemon/views/trace_view.h"

namespace endgate::daemon::handle {
namespace {

constexpr std::int64_t kMostAttempts = 1000000, kMostPoints = 4000, kMostTests = 5000;

Response unknown_serial() {
  return refusal(404, "U-210", "No unit of that serial is known here. Check the rating plate.");
}

Response unknown_attempt() {
  return refusal(404, "U-211",
                 "This unit has no test of that number. Its tests are listed one "
                 "address higher.");
}

const schema::StoredRecord* find_attempt(const UnitHistory& unit, std::int64_t attempt) {
  for (const schema::StoredRecord& test : unit.tests)
    if (test.record.start.attempt == attempt) return &test;
  return nullptr;
}

bool known(const UnitHistory& unit) {
  return !unit.tests.empty() || unit.standing.has_value() || !events_of(unit).empty();
}

}  // namespace

void unit(Application& application, const Request& request, const Reply& reply) {
  ask_store(application, reply,
            [serial = request.parameters.at("serial")](const schema::StoreReader& store) {
              const UnitHistory unit = history_of(store, serial_known_as(store, serial));
              if (!known(unit)) return unknown_serial();
              return json(unit_json(unit, compared_with_birth(store, unit)));
            });
}

void standing(Application& application, const Request& request, const Reply& reply) {
  ask_store(application, reply,
            [serial = request.parameters.at("serial")](const schema::StoreReader& store) {
              const UnitHistory unit = history_of(store, serial);
              return unit.standing ? json(standing_json(unit)) : unknown_serial();
            });
}

void attempt(Application& application, const Request& request, const Reply& reply) {
  const auto number = whole_number(request.parameters.at("attempt"), kMostAttempts);
  if (!number) return reply(unknown_attempt());
  ask_store(application, reply,
            [serial = request.parameters.at("serial"), number](const schema::StoreReader& store) {
              const UnitHistory unit = history_of(store, serial);
              const schema::StoredRecord* test = find_attempt(unit, *number);
              return test == nullptr ? unknown_attempt() : json(record_json(*test));
            });
}

void trace(Application& application, const Request& request, const Reply& reply) {
  const auto number = whole_number(request.parameters.at("attempt"), kMostAttempts);
  const std::string asked = query_value(request, "points");
  const auto points =
      asked.empty() ? std::optional<std::int64_t>(1000) : whole_number(asked, kMostPoints);
  if (!number) return reply(unknown_attempt());
  if (!points) return reply(refusal(400, "U-212", "points is a whole number from 1 to 4000."));
  ask_store(application, reply,
            [serial = request.parameters.at("serial"), number, points,
             channel = query_value(request, "channel")](const schema::StoreReader& store) {
              const UnitHistory unit = history_of(store, serial);
              const schema::StoredRecord* test = find_attempt(unit, *number);
              if (test == nullptr) return unknown_attempt();
              const TraceShown shown =
                  trace_shown(store, *test, channel, static_cast<std::size_t>(*points));
              if (!shown.missing.empty()) return refusal(404, "U-213", shown.missing);
              return json(trace_json(test->record.start, shown));
            });
}

void trend(Application& application, const Request& request, const Reply& reply) {
  const std::string asked = query_value(request, "count");
  const auto count =
      asked.empty() ? std::optional<std::int64_t>(500) : whole_number(asked, kMostTests);
  if (!count) return reply(refusal(400, "U-214", "count is a whole number from 1 to 5000."));
  ask_tests(application, request, reply, AsksFor::metric,
            [metric = query_value(request, "metric"), model = query_value(request, "model"), count](
                const schema::StoreReader& store, const TrendFilter& filter) {
              return json(
                  trend_json(model, *analysis::facts_of_metric(metric),
                             tests_shown(store, filter, metric, static_cast<std::size_t>(*count))));
            },
            {"count"});
}

}  // namespace endgate::daemon::handle
