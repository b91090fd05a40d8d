// The commands about one unit and its parts.

#include <map>
#include <string>

#include "daemon/cli/command_table.h"

namespace endgate::daemon {
namespace {

// A command that enters one fact about a unit; each option is a field of it.
template <class Add>
void enter(CommandTable& commands, const char* name, const char* kind, const char* text,
           Add add_options) {
  commands.subcommand<EnterCommand>(name, text, [&](CLI::App& app, EnterCommand& c) {
    c.kind = kind;
    add_options(app, c.fields);
    app.add_option("--by", c.fields["by"], "Who says so")->required()->type_name("NAME");
    add_store(app, c.store);
  });
}

}  // namespace

void describe_unit_commands(CommandTable& commands) {
  using Fields = std::map<std::string, std::string>;
  enter(commands, "lots", "lots", "Enter which lots of parts a unit or a batch holds",
        [](CLI::App& app, Fields& fields) {
          fields["subject_kind"] = "unit";
          app.add_option("subject", fields["subject"], "Serial, or batch")->required();
          app.add_option("parts", fields["parts"], "\"motor=M-118 reed=R-2620\"")->required();
          app.add_option("--of", fields["subject_kind"], "unit (default) or batch");
          app.add_option("--source", fields["source"], "Where it was read")->type_name("TEXT");
        });
  enter(commands, "return", "return", "Enter that a unit came back, before it is tested",
        [](CLI::App& app, Fields& fields) {
          app.add_option("serial", fields["serial"], "Serial")->required();
          app.add_option("--complaint", fields["complaint"], "What its user says")->required();
          app.add_option("--condition", fields["condition"], "As received");
          app.add_option("--months", fields["months_in_use"], "In use, if known");
          app.add_option("--hours", fields["hours_in_use"], "Running, if known");
        });
  enter(commands, "repair", "repair", "Enter what was found in a unit and replaced",
        [](CLI::App& app, Fields& fields) {
          app.add_option("serial", fields["serial"], "Serial")->required();
          app.add_option(
                 "--finding", fields["finding"],
                 "A cause of the list of its model by its name, or in words; what is not of "
                 "the list is kept as words, and the list is told")
              ->required();
          app.add_option("--parts", fields["parts"], "What was replaced; part=lot names its lot");
        });
  enter(commands, "decide", "decision", "Decide about a unit that is not released",
        [](CLI::App& app, Fields& fields) {
          app.add_option("serial", fields["serial"], "Serial")->required();
          app.add_option("decision", fields["decision"], "retest, scrap or concession")->required();
          app.add_option("--reason", fields["reason"], "Why")->required()->type_name("TEXT");
          app.add_option("--second", fields["second_by"], "Second name, for a concession");
        });
  enter(commands, "withdraw", "withdrawal",
        "Take back an entry that was a mistake; it stays in the history",
        [](CLI::App& app, Fields& fields) {
          app.add_option("position", fields["position"], "Of the entry, as history tells it")
              ->required();
          app.add_option("--why", fields["why"], "Why")->required()->type_name("TEXT");
          app.add_option("--second", fields["second_by"], "Second name, for a scrap or concession")
              ->type_name("NAME");
        });
  commands.subcommand<WhereCommand>("where", "Which units hold a lot, and how they tested",
                                    [](CLI::App& app, WhereCommand& c) {
                                      app.add_option("lot", c.lot, "Lot")->required();
                                      add_store(app, c.store);
                                    });
}

}  // namespace endgate::daemon
