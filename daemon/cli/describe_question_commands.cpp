// The commands that ask what many tests tell.

#include "daemon/cli/command_table.h"

namespace endgate::daemon {
namespace {

void describe_questions(CommandTable& commands) {
  commands.subcommand<HistoryCommand>("history", "Every test of a unit and its standing",
                                      [](CLI::App& app, HistoryCommand& c) {
                                        app.add_option("serial", c.serial, "Serial")->required();
                                        add_store(app, c.store);
                                      });
  commands.subcommand<TrendCommand>(
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
        app.add_flag("--bench-offset", c.bench_offset,
                     "How far each bench has drifted, batch by batch, and how sure that is");
        add_store(app, c.store);
      });
}

void describe_populations(CommandTable& commands) {
  commands.subcommand<LimitsCommand>(
      "limits", "Every limit of a model and who changed it since when",
      [](CLI::App& app, LimitsCommand& c) {
        app.add_option("--model", c.model, "Model")->required()->type_name("MODEL");
        add_store(app, c.store);
      });
  commands.subcommand<CapabilityCommand>(
      "capability", "Does a metric fit inside its limits, and where could limits lie",
      [](CLI::App& app, CapabilityCommand& c) {
        add_metric(app, c.asked);
        add_tests(app, c.asked);
        add_store(app, c.store);
      });
  commands.subcommand<YieldCommand>(
      "yield", "First-pass yield, reasons, and what could turn fails into passes",
      [](CLI::App& app, YieldCommand& c) {
        add_tests(app, c.asked);
        add_store(app, c.store);
      });
  commands.subcommand<ReturnsCommand>(
      "returns", "After how long units come back, and which birth metrics tell",
      [](CLI::App& app, ReturnsCommand& c) {
        add_tests(app, c.asked);
        app.add_flag("--priors", c.priors,
                     "Only: priors for the model's list of causes, from what repairs found");
        add_store(app, c.store);
      });
  commands.subcommand<RiskCommand>("risk", "How often a whole unit is judged wrongly",
                                   [](CLI::App& app, RiskCommand& c) {
                                     add_tests(app, c.asked);
                                     add_store(app, c.store);
                                   });
  commands.subcommand<WhatIfCommand>(
      "what-if", "Which verdicts another limit would change", [](CLI::App& app, WhatIfCommand& c) {
        add_metric(app, c.asked);
        add_tests(app, c.asked);
        app.add_option("--lower", c.lower, "At least, in the unit people use");
        app.add_option("--upper", c.upper, "At most, in the unit people use");
        add_store(app, c.store);
      });
}

void describe_studies(CommandTable& commands) {
  commands.subcommand<GaugeCommand>(
      "gauge", "How much of a study is the measurement: repeats, benches, people",
      [](CLI::App& app, GaugeCommand& c) {
        add_metric(app, c.question.tests);
        add_tests(app, c.question.tests);
        app.get_option("--purpose")->description("lab unless told, every one when units are named");
        app.add_option("--units", c.question.serials, "Serials: \"A, B, C\"; all unless told")
            ->type_name("SERIALS");
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
  commands.subcommand<NoiseCommand>(
      "noise", "What noise the channels of a bench show over its tests: lines for its file",
      [](CLI::App& app, NoiseCommand& c) {
        app.add_option("bench", c.bench, "Bench")->required()->type_name("BENCH");
        app.add_option("--tests", c.tests, "Newest tests to read, 200 unless told")
            ->type_name("N")
            ->check(CLI::Range(1, 100000));
        add_store(app, c.store);
      });
  commands.subcommand<RatingCommand>(
      "rating", "What a data sheet may promise of delivery over pressure",
      [](CLI::App& app, RatingCommand& c) {
        add_tests(app, c.asked);
        add_purpose(app, c.asked);
        app.add_option("--share", c.coverage.share, "Of units that deliver at least this, 99 %")
            ->type_name("PERCENT");
        app.add_option("--confidence", c.coverage.confidence, "That it is so, 95 %")
            ->type_name("PERCENT");
        add_store(app, c.store);
      });
  commands.subcommand<CompareCommand>(
      "compare", "Units side by side: every metric of their newest tests",
      [](CLI::App& app, CompareCommand& c) {
        app.add_option("unit", c.units, "Serials, or SERIAL/ATTEMPT")->required()->expected(2, 8);
        add_store(app, c.store);
      });
  commands.subcommand<EnduranceCommand>(
      "endurance", "How a metric of one unit moves as it runs, and when it meets a limit",
      [](CLI::App& app, EnduranceCommand& c) {
        app.add_option("serial", c.serial, "Serial")->required();
        app.add_option("metric", c.metric, "Metric, such as fad_400")->required();
        app.add_option("--over", c.over, "bench: hours on benches; or days")
            ->check(CLI::IsMember({"bench", "days"}));
        add_store(app, c.store);
      });
}

void describe_control(CommandTable& commands) {
  CLI::App& control =
      *commands.root().add_subcommand("control", "Frozen control limits: freeze, list");
  control.require_subcommand(1);
  commands.subcommand<ControlFreezeCommand>(
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
  commands.subcommand<ControlListCommand>(
      control, "list", "Every version of frozen control limits, oldest first",
      [](CLI::App& app, ControlListCommand& c) {
        app.add_option("--model", c.model, "Only this model")->type_name("MODEL");
        app.add_option("--metric", c.metric, "Only this metric")->type_name("METRIC");
        add_store(app, c.store);
      });
}

}  // namespace

void describe_question_commands(CommandTable& commands) {
  describe_questions(commands);
  describe_populations(commands);
  describe_studies(commands);
  describe_control(commands);
}

}  // namespace endgate::daemon
