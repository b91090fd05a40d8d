// The commands that run, check and look after benches.

#include "daemon/cli/command_table.h"
#include "daemon/line/enter_check.h"

namespace endgate::daemon {
namespace {

void describe_service(CommandTable& commands) {
  commands.subcommand<RunCommand>("run",
                                  "Connect the benches and serve the pages until a signal ends it",
                                  [](CLI::App& app, RunCommand& c) { need_config(app, c.config); });
  commands.subcommand<TrialCommand>(
      "trial", "Put a unit on a bench through an accepted lab trial",
      [](CLI::App& app, TrialCommand& c) {
        app.add_option("bench", c.bench, "Bench")->required();
        app.add_option("serial", c.serial, "Serial")->required();
        app.add_option("trial", c.trial, "Trial")->required();
        app.add_option("--operator", c.operator_name, "Who starts it")->type_name("NAME");
        need_config(app, c.config);
      });
  commands.subcommand<TakeBenchCommand>(
      "take", "Take over a bench that a service left claimed which is gone",
      [](CLI::App& app, TakeBenchCommand& c) {
        app.add_option("bench", c.bench, "Bench")->required();
        app.add_option("--by", c.by, "Who takes it")->required()->type_name("NAME");
        app.add_option("--why", c.why, "What became of the other service")
            ->required()
            ->type_name("TEXT");
        need_config(app, c.config);
      });
  commands.subcommand<CheckCommand>(
      "check", "Check the definition files and say what is not promised",
      [](CLI::App& app, CheckCommand& c) { need_config(app, c.config); });
  commands.subcommand<AcceptFilesCommand>(
      "accept", "Keep a definition file, or all that are new in a folder, as accepted",
      [](CLI::App& app, AcceptFilesCommand& c) {
        app.add_option("file", c.path, "Definition file or configuration folder")->required();
        app.add_option("--by", c.by, "Who accepts")->required()->type_name("NAME");
        app.add_option("--second", c.second, "Second name, when limits change")->type_name("NAME");
        app.add_option("--why", c.why, "Why")->required()->type_name("TEXT");
        add_store(app, c.store);
      });
}

void describe_bench_upkeep(CommandTable& commands) {
  commands.subcommand<CalibrateCommand>(
      "calibrate", "Calibrate a channel of a bench against a reference",
      [](CLI::App& app, CalibrateCommand& c) {
        app.add_option("bench", c.bench, "Bench")->required();
        app.add_option("channel", c.channel, "Channel")->required();
        app.add_option("--points", c.points,
                       "CSV reading_si,reference_si,u_reference_si in Pa, m3/s, A, V, rev/s, K; "
                       "readings as shown")
            ->required()
            ->type_name("FILE");
        app.add_option("--by", c.by, "Who calibrates")->required()->type_name("NAME");
        app.add_option("--due", c.due, "Valid until, YYYY-MM-DD")->required()->type_name("DATE");
        app.add_option("--reference", c.reference, "What it was held against")->type_name("TEXT");
        app.add_flag("--yes", c.yes, "Do not ask on a terminal");
        add_store(app, c.store);
      });
  commands.subcommand<CheckBenchCommand>(
      "check-bench", "Enter a check of a bench by its readings",
      [](CLI::App& app, CheckBenchCommand& c) {
        app.add_option("bench", c.bench, "Bench")->required();
        app.add_option("kind", c.kind,
                       "flow_nozzle, fixture_leak, receiver_volume, wear_part, learn_anew")
            ->required();
        app.add_option("readings", c.readings,
                       "NAME=NUMBER in SI; \nflow_nozzle: " + readings_to_type("flow_nozzle") +
                           "\nfixture_leak: " + readings_to_type("fixture_leak") +
                           "\nreceiver_volume: " + readings_to_type("receiver_volume"))
            ->type_name("READING");
        app.add_option("--subject", c.subject,
                       "Nozzle; receiver; part or reference unit as the bench page names it")
            ->type_name("NAME");
        app.add_option("--by", c.by, "Who made it")->required()->type_name("NAME");
        add_store(app, c.store);
      });
  commands.subcommand<AlarmsCommand>(
      "alarms", "Alarms that are open; take one over or close it",
      [](CLI::App& app, AlarmsCommand& c) {
        app.add_option("--take", c.take, "Take over alarm N")->type_name("N");
        app.add_option("--close", c.close, "Close alarm N")->type_name("N");
        app.add_option("--by", c.by, "Who answers it")->type_name("NAME");
        app.add_option("--cause", c.cause, "What it was")->type_name("TEXT");
        app.add_option("--action", c.action, "What was done")->type_name("TEXT");
        add_store(app, c.store);
      });
}

}  // namespace

void describe_bench_commands(CommandTable& commands) {
  describe_service(commands);
  describe_bench_upkeep(commands);
}

}  // namespace endgate::daemon
