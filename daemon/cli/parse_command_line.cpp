#include "daemon/cli/parse_command_line.h"

#include <CLI/CLI.hpp>
#include <algorithm>
#include <iostream>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "daemon/cli/exit_status.h"
#include "daemon/definitions/nearest_name.h"
#include "daemon/line/version.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kHelpColumn = 34;
constexpr const char* kFooter =
    "Exit status: 0 ok, 1 verdict or check negative, 2 usage, 3 configuration, 4 device,\n"
    "5 storage, 6 busy, 70 internal.  Data goes to standard output, talk to standard error.";

void add_config(CLI::App& app, std::filesystem::path& config) {
  app.add_option("--config", config, "Folder with service.toml, benches/, models/ ...")
      ->type_name("DIR")
      ->envname("ENDGATE_CONFIG");
}

void need_config(CLI::App& app, std::filesystem::path& config) {
  add_config(app, config);
  app.get_option("--config")->required();
}

void add_store(CLI::App& app, StorePlace& store) {
  app.add_option("--data", store.data, "Folder of the store; or --config")->type_name("DIR");
  add_config(app, store.config);
}

// Which tests a question is about.
void add_tests(CLI::App& app, TestsAsked& asked) {
  app.add_option("--model", asked.model, "Model")->required()->type_name("MODEL");
  app.add_option("--bench", asked.bench, "Only this bench")->type_name("BENCH");
  app.add_option("--batch", asked.batch, "Only this batch")->type_name("BATCH");
  app.add_option("--since", asked.since, "From this day on, YYYY-MM-DD")->type_name("DATE");
}

void add_metric(CLI::App& app, TestsAsked& asked) {
  app.add_option("metric", asked.metric, "Metric, such as fad_400: free-air delivery at 400 kPa")
      ->required()
      ->check([](const std::string& id) { return id.empty() ? "name a metric" : ""; });
  app.add_option("--purpose", asked.purpose, "production unless told; all for every test")
      ->type_name("PURPOSE");
}

// Each adds one subcommand and, when it is the one, puts what was read into `chosen`.
class Parser {
 public:
  std::variant<Command, int> parse(int argc, const char* const* argv) {
    describe();
    if (argc > 1 && is_unknown(argv[1])) return kUsage;
    try {
      app_.parse(argc, argv);
    } catch (const CLI::ParseError& error) {
      // Help and version end well; everything else is usage, whatever the library calls it.
      return app_.exit(error) == 0 ? kOk : kUsage;
    }
    return chosen_;
  }

 private:
  // The library only says that a command is required.
  bool is_unknown(const std::string& word) {
    std::vector<std::string> names;
    for (const CLI::App* each : app_.get_subcommands([](CLI::App*) { return true; }))
      names.push_back(each->get_name());
    if (word.starts_with("-") || std::ranges::find(names, word) != names.end()) return false;
    const std::string nearest = nearest_name(word, names);
    std::cerr << "endgate: there is no command \"" << word << "\""
              << (nearest.empty() ? "; see endgate --help" : "; did you mean \"" + nearest + "\"?")
              << "\n";
    return true;
  }

  template <class C, class Add>
  void subcommand(const char* name, const char* text, Add add_options) {
    subcommand<C>(app_, name, text, add_options);
  }
  template <class C, class Add>
  void subcommand(CLI::App& of, const char* name, const char* text, Add add_options) {
    CLI::App* app = of.add_subcommand(name, text);
    const auto command = std::make_shared<C>();
    add_options(*app, *command);
    app->callback([this, command] { chosen_ = *command; });
  }

  void describe() {
    app_.set_version_flag("--version", software_version());
    app_.get_formatter()->column_width(kHelpColumn);
    app_.require_subcommand(1);
    app_.footer(kFooter);
    describe_service();
    describe_bench_upkeep();
    describe_unit_facts();
    describe_questions();
    describe_control();
    describe_exchange();
    describe_proofs();
    describe_copies();
    describe_retention();
  }

  void describe_service() {
    subcommand<RunCommand>("run", "Connect the benches and serve the pages until a signal ends it",
                           [](CLI::App& app, RunCommand& c) { need_config(app, c.config); });
    subcommand<TrialCommand>(
        "trial", "Put a unit on a bench through an accepted lab trial",
        [](CLI::App& app, TrialCommand& c) {
          app.add_option("bench", c.bench, "Bench")->required();
          app.add_option("serial", c.serial, "Serial")->required();
          app.add_option("trial", c.trial, "Trial")->required();
          app.add_option("--operator", c.operator_name, "Who starts it")->type_name("NAME");
          need_config(app, c.config);
        });
    subcommand<CheckCommand>("check", "Check the definition files and say what is not promised",
                             [](CLI::App& app, CheckCommand& c) { need_config(app, c.config); });
    subcommand<AcceptFilesCommand>(
        "accept", "Keep a definition file, or all that are new in a folder, as accepted",
        [](CLI::App& app, AcceptFilesCommand& c) {
          app.add_option("file", c.path, "Definition file or configuration folder")->required();
          app.add_option("--by", c.by, "Who accepts")->required()->type_name("NAME");
          app.add_option("--second", c.second, "Second name, when limits change")
              ->type_name("NAME");
          app.add_option("--why", c.why, "Why")->required()->type_name("TEXT");
          add_store(app, c.store);
        });
  }

  void describe_bench_upkeep() {
    subcommand<CalibrateCommand>(
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
    subcommand<CheckBenchCommand>(
        "check-bench", "Enter a check of a bench by its readings",
        [](CLI::App& app, CheckBenchCommand& c) {
          app.add_option("bench", c.bench, "Bench")->required();
          app.add_option("kind", c.kind,
                         "flow_nozzle, fixture_leak, receiver_volume, wear_part, learn_anew")
              ->required();
          app.add_option("readings", c.readings, "NAME=NUMBER in SI")->type_name("READING");
          app.add_option("--subject", c.subject, "Nozzle, receiver, part or reference unit")
              ->type_name("NAME");
          app.add_option("--by", c.by, "Who made it")->required()->type_name("NAME");
          add_store(app, c.store);
        });
    subcommand<AlarmsCommand>(
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

  // A command that enters one fact about a unit; each option is a field of it.
  template <class Add>
  void enter(const char* name, const char* kind, const char* text, Add add_options) {
    subcommand<EnterCommand>(name, text, [&](CLI::App& app, EnterCommand& c) {
      c.kind = kind;
      add_options(app, c.fields);
      app.add_option("--by", c.fields["by"], "Who says so")->required()->type_name("NAME");
      add_store(app, c.store);
    });
  }

  void describe_unit_facts() {
    using Fields = std::map<std::string, std::string>;
    enter("lots", "lots", "Enter which lots of parts a unit or a batch holds",
          [](CLI::App& app, Fields& fields) {
            fields["subject_kind"] = "unit";
            app.add_option("subject", fields["subject"], "Serial, or batch")->required();
            app.add_option("parts", fields["parts"], "\"motor=M-118 reed=R-2620\"")->required();
            app.add_option("--of", fields["subject_kind"], "unit (default) or batch");
            app.add_option("--source", fields["source"], "Where it was read")->type_name("TEXT");
          });
    enter("return", "return", "Enter that a unit came back, before it is tested",
          [](CLI::App& app, Fields& fields) {
            app.add_option("serial", fields["serial"], "Serial")->required();
            app.add_option("--complaint", fields["complaint"], "What its user says")->required();
            app.add_option("--condition", fields["condition"], "As received");
            app.add_option("--months", fields["months_in_use"], "In use, if known");
            app.add_option("--hours", fields["hours_in_use"], "Running, if known");
          });
    enter("repair", "repair", "Enter what was found in a unit and replaced",
          [](CLI::App& app, Fields& fields) {
            app.add_option("serial", fields["serial"], "Serial")->required();
            app.add_option("--finding", fields["finding"], "A cause, or in words")->required();
            app.add_option("--parts", fields["parts"], "What was replaced");
          });
    enter(
        "decide", "decision", "Decide about a unit that is not released",
        [](CLI::App& app, Fields& fields) {
          app.add_option("serial", fields["serial"], "Serial")->required();
          app.add_option("decision", fields["decision"], "retest, scrap or concession")->required();
          app.add_option("--reason", fields["reason"], "Why")->required()->type_name("TEXT");
          app.add_option("--second", fields["second_by"], "Second name, for a concession");
        });
    enter(
        "withdraw", "withdrawal", "Take back an entry that was a mistake; it stays in the history",
        [](CLI::App& app, Fields& fields) {
          app.add_option("position", fields["position"], "Of the entry, as history tells it")
              ->required();
          app.add_option("--why", fields["why"], "Why")->required()->type_name("TEXT");
          app.add_option("--second", fields["second_by"], "Second name, for a scrap or concession")
              ->type_name("NAME");
        });
    subcommand<WhereCommand>("where", "Which units hold a lot, and how they tested",
                             [](CLI::App& app, WhereCommand& c) {
                               app.add_option("lot", c.lot, "Lot")->required();
                               add_store(app, c.store);
                             });
  }

  void describe_questions() {
    subcommand<HistoryCommand>("history", "Every test of a unit and its standing",
                               [](CLI::App& app, HistoryCommand& c) {
                                 app.add_option("serial", c.serial, "Serial")->required();
                                 add_store(app, c.store);
                               });
    subcommand<TrendCommand>(
        "trend", "One metric of one model over tests", [](CLI::App& app, TrendCommand& c) {
          add_metric(app, c.asked);
          add_tests(app, c.asked);
          app.add_option("--count", c.count, "Newest tests to show, 200 unless told")
              ->type_name("N")
              ->check(CLI::Range(1, 1000000));
          app.add_flag("--batches", c.batches, "Every batch in numbers: mean, scatter, 1 %, 99 %");
          app.add_flag("--chart", c.chart, "Batches with their running mean and limits");
          app.add_flag("--causes", c.causes, "Who moved since when, and what moved with it");
          app.add_option("--together", c.together,
                         "Batches in this and other metrics at once: names, or curve")
              ->type_name("NAMES");
          app.add_option("--bench-effect", c.bench_effect,
                         "in or out: batch means with or without the drift of the benches")
              ->check(CLI::IsMember({"in", "out"}));
          add_store(app, c.store);
        });
    describe_populations();
  }

  void describe_control() {
    CLI::App& control = *app_.add_subcommand("control", "Frozen control limits: freeze, list");
    control.require_subcommand(1);
    subcommand<ControlFreezeCommand>(
        control, "freeze", "Freeze the control limits of a metric from a span of batches",
        [](CLI::App& app, ControlFreezeCommand& c) {
          add_metric(app, c.asked);
          app.add_option("--model", c.asked.model, "Model")->required()->type_name("MODEL");
          app.add_option("--bench", c.asked.bench, "Only this bench")->type_name("BENCH");
          app.add_option("--from", c.from, "First batch")->required()->type_name("BATCH");
          app.add_option("--to", c.to, "Last batch")->required()->type_name("BATCH");
          app.add_option("--leave-out", c.left_out, "A batch with a known cause; may be repeated")
              ->type_name("BATCH")
              ->allow_extra_args(false);
          app.add_option("--rules", c.rules,
                         "Names of rules; outside one_side running_mean "
                         "running_sum unless told; also two_of_three")
              ->type_name("NAMES");
          app.add_option("--by", c.by, "Who freezes them")->required()->type_name("NAME");
          app.add_option("--why", c.why, "Why")->required()->type_name("TEXT");
          app.add_flag("--dry-run", c.dry_run, "Only show what would be frozen");
          add_store(app, c.store);
        });
    subcommand<ControlListCommand>(
        control, "list", "Every version of frozen control limits, oldest first",
        [](CLI::App& app, ControlListCommand& c) {
          app.add_option("--model", c.model, "Only this model")->type_name("MODEL");
          app.add_option("--metric", c.metric, "Only this metric")->type_name("METRIC");
          add_store(app, c.store);
        });
  }

  void describe_exchange() {
    subcommand<ExportCommand>(
        "export", "Results as one table, a row per test", [](CLI::App& app, ExportCommand& c) {
          auto* form = app.add_option_group("form");
          form->add_flag("--csv", c.csv, "As CSV");
          form->add_flag("--jsonl", c.jsonl, "As JSON Lines, one object per test");
          form->require_option(1);
          app.add_flag("--si", c.si, "Numbers in SI units, as kept");
          app.add_flag("--imported", c.imported, "What was imported, instead of our own tests");
          app.add_option("--model", c.model, "Only this model")->type_name("MODEL");
          app.add_option("--bench", c.bench, "Only this bench")->type_name("BENCH");
          app.add_option("--batch", c.batch, "Only this batch")->type_name("BATCH");
          app.add_option("--purpose", c.purpose, "Only this purpose")->type_name("PURPOSE");
          app.add_option("--since", c.since, "From this day on, YYYY-MM-DD")->type_name("DATE");
          app.add_option("--until", c.until, "Up to and with this day")->type_name("DATE");
          app.add_option("--out", c.out, "Into this file, whole or not at all")->type_name("FILE");
          add_store(app, c.store);
        });
    subcommand<ImportCommand>(
        "import", "Keep results from elsewhere, apart from our own tests",
        [](CLI::App& app, ImportCommand& c) {
          app.add_option("file", c.file, "CSV or JSON Lines, columns as export writes them")
              ->required();
          app.add_option("--source", c.source, "What it was read from; each file its own")
              ->required()
              ->type_name("TEXT");
          app.add_option("--by", c.by, "Who imports it")->required()->type_name("NAME");
          app.add_option("--why", c.why, "Why")->required()->type_name("TEXT");
          app.add_option("--form", c.form, "csv or jsonl, when the name of the file does not say")
              ->check(CLI::IsMember({"csv", "jsonl"}));
          app.add_option("--leave-out", c.left_out, "Columns not to read: \"Remarks; Box number\"")
              ->type_name("NAMES");
          app.add_flag("--good-rows", c.good_rows, "Keep the good rows of a file with bad ones");
          app.add_flag("--dry-run", c.dry_run, "Only check");
          add_store(app, c.store);
        });
  }

  void describe_populations() {
    subcommand<LimitsCommand>(
        "limits", "Every limit of a model and who changed it since when",
        [](CLI::App& app, LimitsCommand& c) {
          app.add_option("--model", c.model, "Model")->required()->type_name("MODEL");
          add_store(app, c.store);
        });
    subcommand<CapabilityCommand>("capability",
                                  "Does a metric fit inside its limits, and where could limits lie",
                                  [](CLI::App& app, CapabilityCommand& c) {
                                    add_metric(app, c.asked);
                                    add_tests(app, c.asked);
                                    add_store(app, c.store);
                                  });
    subcommand<YieldCommand>("yield",
                             "First-pass yield, reasons, and what could turn fails into passes",
                             [](CLI::App& app, YieldCommand& c) {
                               add_tests(app, c.asked);
                               add_store(app, c.store);
                             });
    subcommand<ReturnsCommand>("returns",
                               "After how long units come back, and which birth metrics tell",
                               [](CLI::App& app, ReturnsCommand& c) {
                                 add_tests(app, c.asked);
                                 add_store(app, c.store);
                               });
    subcommand<RiskCommand>("risk", "How often a whole unit is judged wrongly",
                            [](CLI::App& app, RiskCommand& c) {
                              add_tests(app, c.asked);
                              add_store(app, c.store);
                            });
    subcommand<WhatIfCommand>(
        "what-if", "Which verdicts another limit would change",
        [](CLI::App& app, WhatIfCommand& c) {
          add_metric(app, c.asked);
          add_tests(app, c.asked);
          app.add_option("--lower", c.lower, "At least, in the unit people use");
          app.add_option("--upper", c.upper, "At most, in the unit people use");
          add_store(app, c.store);
        });
    describe_studies();
  }

  void describe_studies() {
    subcommand<GaugeCommand>(
        "gauge", "How much of a study is the measurement: repeats, benches, people",
        [](CLI::App& app, GaugeCommand& c) {
          add_metric(app, c.question.tests);
          add_tests(app, c.question.tests);
          app.get_option("--purpose")
              ->description("lab unless told, every one when units are named");
          app.add_option("--units", c.question.serials, "Serials: \"A, B, C\"; all unless told")
              ->type_name("SERIALS");
          app.add_option("--until", c.question.until, "Up to and with this day")->type_name("DATE");
          app.add_option("--by", c.question.by, "bench unless told, or person")
              ->check(CLI::IsMember({"bench", "person"}));
          app.add_option("--repeats", c.question.repeats,
                         "Only the first N tests of each unit on each bench")
              ->type_name("N");
          app.add_option("--known", c.question.known,
                         "Known value of one unit, in the unit people use: bias and repeats");
          app.add_option("--known-u", c.question.known_u, "Its standard uncertainty");
          app.add_option("--width", c.question.width,
                         "Width of the limits; that of the limits in force unless told");
          add_store(app, c.store);
        });
    subcommand<RatingCommand>(
        "rating", "What a data sheet may promise of delivery over pressure",
        [](CLI::App& app, RatingCommand& c) {
          add_tests(app, c.asked);
          app.add_option("--share", c.coverage.share, "Of units that deliver at least this, 99 %")
              ->type_name("PERCENT");
          app.add_option("--confidence", c.coverage.confidence, "That it is so, 95 %")
              ->type_name("PERCENT");
          add_store(app, c.store);
        });
    subcommand<CompareCommand>(
        "compare", "Units side by side: every metric of their newest tests",
        [](CLI::App& app, CompareCommand& c) {
          app.add_option("unit", c.units, "Serials, or SERIAL/ATTEMPT")->required()->expected(2, 8);
          add_store(app, c.store);
        });
    subcommand<EnduranceCommand>(
        "endurance", "How a metric of one unit moves as it runs, and when it meets a limit",
        [](CLI::App& app, EnduranceCommand& c) {
          app.add_option("serial", c.serial, "Serial")->required();
          app.add_option("metric", c.metric, "Metric, such as fad_400")->required();
          app.add_option("--over", c.over, "bench: hours on benches; or days")
              ->check(CLI::IsMember({"bench", "days"}));
          add_store(app, c.store);
        });
  }

  void describe_copies() {
    subcommand<BackupCommand>(
        "backup", "Copy the store while tests run; counts once it is verified",
        [](CLI::App& app, BackupCommand& c) {
          app.add_option("target", c.target, "New or empty folder")->required()->type_name("DIR");
          add_store(app, c.store);
        });
    subcommand<RestoreCommand>(
        "restore", "Make a store out of a backup, with an id of its own",
        [](CLI::App& app, RestoreCommand& c) {
          app.add_option("backup", c.backup, "Folder of the backup")->required()->type_name("DIR");
          add_store(app, c.store);
        });
    subcommand<RebuildCommand>(
        "rebuild", "Make the file that trends are read from anew, with the service stopped",
        [](CLI::App& app, RebuildCommand& c) { add_store(app, c.store); });
  }

  void describe_retention() {
    subcommand<PruneTracesCommand>(
        "prune-traces",
        "Remove old raw samples; numbers, verdicts and seal stay. Tests of reference units, returned "
        "units, lab and trials keep theirs, and births under warranty",
        [](CLI::App& app, PruneTracesCommand& c) {
          app.add_option("--older-than", c.older_than_days, "Days")
              ->required()
              ->type_name("DAYS")
              ->check(CLI::Range(1, 36500));
          app.add_option("--warranty-months", c.warranty_months,
                         "Birth tests younger than this keep theirs; 60 unless told")
              ->type_name("N")
              ->check(CLI::Range(0, 1200));
          app.add_option("--by", c.by, "Who removes them")->required()->type_name("NAME");
          app.add_option("--why", c.why, "Why")->required()->type_name("TEXT");
          app.add_flag("--dry-run", c.dry_run, "Only say how many");
          add_store(app, c.store);
        });
  }

  void describe_proofs() {
    subcommand<VerifyCommand>(
        "verify", "Check that every fact is still what was sealed",
        [](CLI::App& app, VerifyCommand& c) {
          app.add_flag("--traces", c.traces, "Decode and hash every trace too");
          app.add_option("--head", c.head, "A line of endgate head: is that past still here?")
              ->type_name("LINE");
          add_store(app, c.store);
        });
    subcommand<HeadCommand>("head",
                            "A signed line to keep elsewhere, to show later that nothing before "
                            "it was written anew",
                            [](CLI::App& app, HeadCommand& c) { add_store(app, c.store); });
    subcommand<ReplayCommand>(
        "replay", "Evaluate a kept test again and compare", [](CLI::App& app, ReplayCommand& c) {
          app.add_option("serial", c.serial, "Serial");
          app.add_option("--attempt", c.attempt, "Which test; the newest unless told")
              ->type_name("N")
              ->check(CLI::PositiveNumber);
          app.add_option("--from", c.from, "Folder with a copied record, or of a store")
              ->type_name("DIR");
          app.add_option("--copy-to", c.copy_to, "Copy record and trace into this empty folder")
              ->type_name("DIR");
          add_store(app, c.store);
        });
  }

  CLI::App app_{"End-of-line test service for small air compressors", "endgate"};
  Command chosen_;
};

}  // namespace

std::variant<Command, int> parse_command_line(int argc, const char* const* argv) {
  return Parser().parse(argc, argv);
}

}  // namespace endgate::daemon
