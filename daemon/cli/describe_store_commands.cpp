// The commands about the store: results in and out, proofs, copies, what may go.

#include "daemon/cli/command_table.h"

namespace endgate::daemon {
namespace {

void describe_exchange(CommandTable& commands) {
  commands.subcommand<ExportCommand>(
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
  commands.subcommand<ImportCommand>(
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
  commands.subcommand<ImportLotsCommand>(
      "import-lots", "Keep which lots of parts many units or batches hold",
      [](CLI::App& app, ImportLotsCommand& c) {
        app.add_option("file", c.file, "CSV or JSON Lines with serial or batch, part, lot")
            ->required();
        app.add_option("--by", c.by, "Who enters them")->required()->type_name("NAME");
        app.add_option("--source", c.source, "Where it is from; the name of the file unless told")
            ->type_name("TEXT");
        app.add_option("--form", c.form, "csv or jsonl, when the name of the file does not say")
            ->check(CLI::IsMember({"csv", "jsonl"}));
        app.add_flag("--dry-run", c.dry_run, "Only check");
        add_store(app, c.store);
      });
}

void describe_proofs(CommandTable& commands) {
  commands.subcommand<VerifyCommand>(
      "verify", "Check that every fact is still what was sealed",
      [](CLI::App& app, VerifyCommand& c) {
        app.add_flag("--traces", c.traces, "Decode and hash every trace too");
        app.add_option("--head", c.head, "A line of endgate head: is that past still here?")
            ->type_name("LINE");
        add_store(app, c.store);
      });
  commands.subcommand<HeadCommand>(
      "head",
      "A signed line to keep elsewhere, to show later that nothing before "
      "it was written anew",
      [](CLI::App& app, HeadCommand& c) { add_store(app, c.store); });
  commands.subcommand<BudgetCommand>(
      "budget", "Through which causes each number of a kept test is uncertain",
      [](CLI::App& app, BudgetCommand& c) {
        app.add_option("serial", c.serial, "Serial")->required();
        app.add_option("--attempt", c.attempt, "Which test of it; the newest unless told");
        add_store(app, c.store);
      });
  commands.subcommand<ReplayCommand>(
      "replay", "Evaluate a kept test again and compare", [](CLI::App& app, ReplayCommand& c) {
        app.add_option("serial", c.serial, "Serial");
        app.add_option("--attempt", c.attempt, "Which test; the newest unless told")
            ->type_name("N")
            ->check(CLI::PositiveNumber);
        app.add_option("--from", c.from, "Folder with a copied record, or of a store")
            ->type_name("DIR");
        app.add_option("--copy-to", c.copy_to, "Copy record and trace into this empty folder")
            ->type_name("DIR");
        app.add_option(
               "--run-to", c.run_to,
               "Write its samples as a CSV that a device with link = \"recorded_run\" plays")
            ->type_name("FILE");
        add_store(app, c.store);
      });
}

void describe_new_versions(CommandTable& commands) {
  commands.subcommand<RejudgeCommand>(
      "rejudge",
      "Judge the newest kept tests with this program, from their samples: which numbers and "
      "verdicts would move? Only reads, also beside a running service",
      [](CLI::App& app, RejudgeCommand& c) {
        app.add_option("--last", c.last, "How many tests; 200 unless told")
            ->type_name("N")
            ->check(CLI::PositiveNumber);
        app.add_option("--model", c.model, "Only this model")->type_name("MODEL");
        app.add_option("--limits", c.limits, "Hold them against this draft limit set")
            ->type_name("FILE");
        app.add_option("--out", c.out, "Write every judgement as JSON Lines, for endgate moved")
            ->type_name("FILE");
        app.add_flag("--follow", c.follow, "Then judge each new test too, until stopped");
        add_store(app, c.store);
      });
  commands.subcommand<MovedCommand>(
      "moved", "What moves between two programs, by what rejudge of each wrote",
      [](CLI::App& app, MovedCommand& c) {
        app.add_option("before", c.before, "FILE.jsonl of the one")->required();
        app.add_option("after", c.after, "FILE.jsonl of the other")->required();
      });
}

void describe_copies(CommandTable& commands) {
  commands.subcommand<BackupCommand>(
      "backup", "Copy the store while tests run; counts once it is verified",
      [](CLI::App& app, BackupCommand& c) {
        app.add_option("target", c.target, "New or empty folder")->required()->type_name("DIR");
        add_store(app, c.store);
      });
  commands.subcommand<RestoreCommand>(
      "restore", "Make a store out of a backup, with an id of its own",
      [](CLI::App& app, RestoreCommand& c) {
        app.add_option("backup", c.backup, "Folder of the backup")->required()->type_name("DIR");
        add_store(app, c.store);
      });
  commands.subcommand<MoveCommand>(
      "move", "Move the store to another folder or disk, with the service stopped",
      [](CLI::App& app, MoveCommand& c) {
        app.add_option("target", c.target, "New or empty folder")->required()->type_name("DIR");
        add_store(app, c.store);
      });
  commands.subcommand<RebuildCommand>(
      "rebuild", "Make the file that trends are read from anew, with the service stopped",
      [](CLI::App& app, RebuildCommand& c) { add_store(app, c.store); });
}

void describe_retention(CommandTable& commands) {
  commands.subcommand<PruneTracesCommand>(
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

}  // namespace

void describe_store_commands(CommandTable& commands) {
  describe_exchange(commands);
  describe_proofs(commands);
  describe_new_versions(commands);
  describe_copies(commands);
  describe_retention(commands);
}

}  // namespace endgate::daemon
