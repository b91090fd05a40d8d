// What the benches do now, and commands to them.

#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/json_write.h"

namespace endgate::daemon::handle {
namespace {

std::string line_of(const CommandAnswer& answer) { return line_json(std::get<LineState>(answer)); }

}  // namespace

void benches(Application& application, const Request&, const Reply& reply) {
  std::vector<LineState> lines;
  for (const std::string& name : application.benches())
    if (auto line = application.line(name)) lines.push_back(std::move(*line));
  reply(json(lines_json(lines)));
}

void bench(Application& application, const Request& request, const Reply& reply) {
  const auto line = application.line(request.parameters.at("bench"));
  reply(line ? json(line_json(*line)) : no_such_bench());
}

void scan(Application& application, const Request& request, const Reply& reply) {
  const std::string name = request.parameters.at("bench");
  if (!known_bench(application, name)) return reply(no_such_bench());
  const CommandShape shape{.needed = {"serial"}, .optional = {"batch", "operator"}};
  with_fields(request, reply, shape, [&](const Fields& fields) {
    application.scan({.bench = name,
                      .text = fields.at("serial"),
                      .batch = get(fields, "batch"),
                      .operator_name = get(fields, "operator")},
                     answering<CommandAnswer>(reply, line_of));
  });
}

void start(Application& application, const Request& request, const Reply& reply) {
  const std::string name = request.parameters.at("bench");
  if (!known_bench(application, name)) return reply(no_such_bench());
  with_fields(request, reply, {.optional = {"reason", "trial"}}, [&](const Fields& fields) {
    application.start(
        {.bench = name, .reason = get(fields, "reason"), .trial = get(fields, "trial")},
        answering<CommandAnswer>(reply, line_of));
  });
}

// Whatever the body says or fails to say, the bench is stopped.
void stop(Application& application, const Request& request, const Reply& reply) {
  const std::string name = request.parameters.at("bench");
  if (!known_bench(application, name)) return reply(no_such_bench());
  const auto read = fields_of(request, {.optional = {"operator"}});
  const auto* fields = std::get_if<Fields>(&read);
  const std::string who = fields == nullptr ? "" : get(*fields, "operator");
  application.stop(name, who.empty() ? "a person" : who);
  reply(json(stopped_json(name)));
}

void clear(Application& application, const Request& request, const Reply& reply) {
  const std::string name = request.parameters.at("bench");
  if (!known_bench(application, name)) return reply(no_such_bench());
  with_fields(request, reply, {.optional = {"operator"}}, [&](const Fields& fields) {
    application.clear(name, get(fields, "operator"), answering<CommandAnswer>(reply, line_of));
  });
}

void take_bench(Application& application, const Request& request, const Reply& reply) {
  const std::string name = request.parameters.at("bench");
  if (!known_bench(application, name)) return reply(no_such_bench());
  with_fields(request, reply, {.needed = {"by", "why"}}, [&](const Fields& fields) {
    application.take_bench({.bench = name, .by = fields.at("by"), .why = fields.at("why")},
                           answering<Application::Entered>(reply, accepted_of));
  });
}

void accept(Application& application, const Request& request, const Reply& reply) {
  const CommandShape shape{
      .needed = {"file_name", "text", "by", "why"}, .optional = {"second_by"}, .long_text = "text"};
  with_fields(request, reply, shape, [&](const Fields& fields) {
    application.accept({.file_name = fields.at("file_name"),
                        .text = fields.at("text"),
                        .by = fields.at("by"),
                        .why = fields.at("why"),
                        .second_by = get(fields, "second_by")},
                       answering<Application::Entered>(reply, accepted_of));
  });
}

void live(Application& application, const Request& request, const Reply& reply) {
  Response response;
  const auto named = request.query.find("bench");
  response.live_bench = named == request.query.end() ? "" : named->second;
  if (!response.live_bench->empty() && !known_bench(application, *response.live_bench))
    return reply(no_such_bench());
  reply(std::move(response));
}

// A test whose bench is not heard any more is being broken off: no bench to rely on either.
Application::Health health_of(const Application& application) {
  Application::Health health = application.health();
  for (const std::string& name : application.benches()) {
    const auto line = application.line(name);
    if (!line || !not_heard(*line)) continue;
    health.ready = false;
    health.reasons.push_back("Bench " + name + ": nothing is heard of it during its test.");
  }
  return health;
}

// Told from memory: questions that wait or hang make a service no less ready for its benches.
void health(Application& application, const Request&, const Reply& reply) {
  reply(json(health_json(health_of(application))));
}

// That it answers is the answer: many slow questions are no reason to start the service anew.
void alive(Application&, const Request&, const Reply& reply) { reply(json("{\"live\":true}")); }

void ready(Application& application, const Request&, const Reply& reply) {
  const Application::Health state = health_of(application);
  reply(json(health_json(state), state.ready ? 200 : 503));
}

}  // namespace endgate::daemon::handle
