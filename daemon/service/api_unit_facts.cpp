#include "daemon/line/enter_removal.h"
#include "daemon/line/enter_unit_fact.h"
#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"

namespace endgate::daemon::handle {
namespace {

// What each kind of fact must and may say; the rules are those of enter_unit_fact.h.
CommandShape shape_of(const std::string& kind) {
  if (kind == "lots")
    return {.needed = {"subject_kind", "subject", "parts", "by"},
            .optional = {"source"},
            .long_text = "parts"};
  if (kind == "return")
    return {.needed = {"serial", "complaint", "by"},
            .optional = {"condition", "months_in_use", "hours_in_use"},
            .long_text = "complaint"};
  if (kind == "withdrawal")
    return {.needed = {"position", "why", "by"}, .optional = {"second_by"}, .long_text = "why"};
  if (kind == "repair") return {.needed = {"serial", "finding", "by"}, .optional = {"parts"}};
  return {.needed = {"serial", "decision", "reason", "by"},
          .optional = {"second_by"},
          .long_text = "reason"};
}

// Of samples, by policy (`endgate prune-traces`).
void enter_trace_removal(Application& application, const Request& request, const Reply& reply) {
  const CommandShape shape{.needed = {"records", "policy", "by"}, .long_text = "records"};
  with_fields(request, reply, shape, [&](const Fields& fields) {
    application.enter(
        [fields](schema::StoreWriter& writer) { return enter_removal(writer, fields); },
        answering<Application::Entered>(reply, accepted_of));
  });
}

}  // namespace

void enter_fact(Application& application, const Request& request, const Reply& reply) {
  const std::string kind = request.parameters.at("kind");
  if (kind == "trace_removal") return enter_trace_removal(application, request, reply);
  if (!is_unit_fact(kind))
    return reply(refusal(404, "U-244", "Facts are lots, return, repair, decision and withdrawal."));
  with_fields(request, reply, shape_of(kind), [&](const Fields& fields) {
    application.enter(
        [kind, fields, folder = application.store_folder()](schema::StoreWriter& writer) {
          return enter_unit_fact(writer, folder, kind, fields);
        },
        answering<Application::Entered>(reply, accepted_of));
  });
}

}  // namespace endgate::daemon::handle
