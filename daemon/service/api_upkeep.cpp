// Alarms, checks of a bench, calibrations: what is open, and what people enter.

#include "daemon/line/bench_texts.h"
#include "daemon/line/enter_check.h"
#include "daemon/queries/bench_checks.h"
#include "daemon/service/calibration_form.h"
#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"

namespace endgate::daemon::handle {
namespace {

Response refused(const CommandRefusal& no) { return refusal(no.http_status, no.code, no.sentence); }

}  // namespace

void alarms(Application& application, const Request&, const Reply& reply) {
  ask_store(application, reply, [](const schema::StoreReader& store) {
    return json(alarms_json(store.open_alarms()));
  });
}

void answer_alarm(Application& application, const Request& request, const Reply& reply) {
  const auto number = whole_number(request.parameters.at("number"), kMostPosition);
  if (!number) return reply(refusal(404, "U-232", "There is no alarm of that number."));
  const CommandShape shape{.needed = {"state", "by"}, .optional = {"cause", "action"}};
  with_fields(request, reply, shape, [&](const Fields& fields) {
    const AlarmStep step{.opened = *number,
                         .state = fields.at("state"),
                         .by = fields.at("by"),
                         .cause = get(fields, "cause"),
                         .action = get(fields, "action")};
    application.enter(
        [step, folder = application.store_folder()](schema::StoreWriter& writer) {
          return enter_alarm_step(writer, folder, step);
        },
        answering<Application::Entered>(reply, accepted_of));
  });
}

void checks(Application& application, const Request& request, const Reply& reply) {
  const std::string bench = request.parameters.at("bench");
  if (!known_bench(application, bench)) return reply(no_such_bench());
  ask_store(application, reply, [bench](const schema::StoreReader& store) {
    return json(
        checks_json(store.bench_checks(bench), events_of(store.withdrawn_about("bench", bench))));
  });
}

void enter_check(Application& application, const Request& request, const Reply& reply) {
  const std::string bench = request.parameters.at("bench");
  if (!known_bench(application, bench)) return reply(no_such_bench());
  const CommandShape shape{
      .needed = {"kind", "by"}, .optional = {"subject", "readings"}, .long_text = "readings"};
  with_fields(request, reply, shape, [&](const Fields& fields) {
    const CheckEntry entry{.bench = bench,
                           .kind = fields.at("kind"),
                           .subject = get(fields, "subject"),
                           .by = fields.at("by"),
                           .readings = get(fields, "readings")};
    application.enter(
        [entry, folder = application.store_folder()](schema::StoreWriter& writer) {
          return daemon::enter_check(writer, folder, entry);
        },
        answering<Application::Entered>(reply, accepted_of));
  });
}

// The form's numbers are computed again here: what is accepted is what the points say.
void calibrate(Application& application, const Request& request, const Reply& reply) {
  const std::string bench = request.parameters.at("bench");
  if (!known_bench(application, bench)) return reply(no_such_bench());
  const CommandShape shape{.needed = {"channel", "points", "due", "by", "version"},
                           .optional = {"reference"},
                           .long_text = "points"};
  with_fields(request, reply, shape, [&](const Fields& fields) {
    const CalibrationForm form{.bench = bench,
                               .channel = fields.at("channel"),
                               .points = fields.at("points"),
                               .due = fields.at("due"),
                               .by = fields.at("by"),
                               .reference = get(fields, "reference"),
                               .version = fields.at("version")};
    on_question_thread(application, reply, [&application, form, reply] {
      const auto command = accept_command_of(schema::StoreReader(application.store_folder()), form);
      if (const auto* no = std::get_if<CommandRefusal>(&command)) return reply(refused(*no));
      application.accept(std::get<Application::AcceptCommand>(command),
                         answering<Application::Entered>(reply, accepted_of));
    });
  });
}

}  // namespace endgate::daemon::handle
