// What did the user ask for?  One plain struct per command; each is run by a file of its own.
//
// Standard output carries data, standard error carries talk.  Every run_ returns an exit status
// (exit_status.h) and throws schema::StoreFault when the store fails.

#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "daemon/views/rating_view.h"
#include "daemon/views/study_asked.h"
#include "daemon/views/tests_asked.h"

namespace endgate::daemon {

// Where the store is: stated, or as the service file of a configuration folder says.
struct StorePlace {
  std::filesystem::path data;    // --data; empty: ask `config`
  std::filesystem::path config;  // --config
};

struct RunCommand {
  std::filesystem::path config;
};
struct CheckCommand {
  std::filesystem::path config;
};
struct AcceptFilesCommand {
  std::filesystem::path path;  // one file, or a configuration folder
  StorePlace store;
  std::string by, second, why;
};
struct HistoryCommand {
  std::string serial;
  StorePlace store;
};
struct TrendCommand {
  TestsAsked asked;
  std::size_t count = 200;
  bool chart = false, causes = false;  // batches and who moved instead of tests
  bool batches = false;                // batches in numbers, of every test there is
  std::string bench_effect = "in";     // in, out: batch means without the drift of the benches
  bool bench_offset = false;           // drift of each bench, with its uncertainty
  std::string together;                // "curve" or metrics: batches in all of them at once
  StorePlace store;
};
struct TrialCommand {
  std::string bench, serial, trial, operator_name;
  std::filesystem::path config;
};
struct TakeBenchCommand {
  std::string bench, by, why;
  std::filesystem::path config;
};
struct LimitsCommand {
  std::string model;
  StorePlace store;
};
struct ControlFreezeCommand {
  TestsAsked asked;
  std::string from, to, rules, by, why;  // batches; names of rules, empty: the usual ones
  std::vector<std::string> left_out;
  bool dry_run = false;
  StorePlace store;
};
struct ControlListCommand {
  std::string model, metric;  // empty: all
  StorePlace store;
};
struct CapabilityCommand {
  TestsAsked asked;
  StorePlace store;
};
struct YieldCommand {
  TestsAsked asked;  // of any metric and purpose
  StorePlace store;
};
struct ReturnsCommand {
  TestsAsked asked;     // births, of any metric and purpose
  bool priors = false;  // only lines for the causes file
  StorePlace store;
};
struct RiskCommand {
  TestsAsked asked;  // of any metric
  StorePlace store;
};
struct WhatIfCommand {
  TestsAsked asked;
  std::optional<double> lower, upper;  // in the unit people use
  StorePlace store;
};
struct GaugeCommand {
  StudyQuestion question;
  StorePlace store;
};
struct NoiseCommand {
  std::string bench;
  std::size_t tests = 200;
  StorePlace store;
};
struct RatingCommand {
  TestsAsked asked;  // of any metric
  CoverageAsked coverage;
  StorePlace store;
};
struct CompareCommand {
  std::vector<std::string> units;  // serials, or serial/attempt
  StorePlace store;
};
struct EnduranceCommand {
  std::string serial, metric;
  std::string over;  // bench (also when empty) or days
  StorePlace store;
};
struct VerifyCommand {
  bool traces = false;
  std::string head;  // a line of `endgate head`; empty: none to hold against
  StorePlace store;
};
struct HeadCommand {
  StorePlace store;
};
struct PruneTracesCommand {
  std::int64_t older_than_days = 0, warranty_months = 60;
  std::string by, why;
  bool dry_run = false;
  StorePlace store;
};
struct ReplayCommand {
  std::string serial;             // may be empty when `from` holds one copied record
  std::int64_t attempt = 0;       // 0: the newest that was kept
  std::filesystem::path from;     // a copied record or a store folder; empty: `store`
  std::filesystem::path copy_to;  // not empty: copy record and trace there instead
  std::filesystem::path run_to;   // not empty: write its samples as a run to play instead
  StorePlace store;
};
struct BudgetCommand {
  std::string serial;
  std::int64_t attempt = 0;  // 0: the newest that was kept
  StorePlace store;
};
struct RejudgeCommand {
  std::size_t last = 200;        // newest tests
  std::string model;             // empty: of every model
  std::filesystem::path limits;  // a draft limit set; empty: the limits of each test
  std::filesystem::path out;     // JSON Lines for MovedCommand; empty: none
  bool follow = false;           // then go on with each new test until stopped
  StorePlace store;
};
struct MovedCommand {
  std::filesystem::path before, after;  // what `rejudge` of two builds wrote
};
struct ExportCommand {
  bool csv = false, jsonl = false;  // one of them
  bool si = false;
  bool imported = false;  // what was imported instead of our own tests
  std::string model, bench, batch, purpose, since, until;  // days: YYYY-MM-DD, both included
  std::filesystem::path out;                               // empty: standard output
  StorePlace store;
};
struct ImportCommand {
  std::filesystem::path file;
  std::string form;  // csv, jsonl; empty: by the name of the file
  std::string source, by, why;
  std::string left_out;  // "Remarks; Box number"
  bool good_rows = false, dry_run = false;
  StorePlace store;
};
struct ImportLotsCommand {
  std::filesystem::path file;
  std::string form;        // csv, jsonl; empty: by the name of the file
  std::string source, by;  // source empty: the name of the file
  bool dry_run = false;
  StorePlace store;
};
struct BackupCommand {
  std::filesystem::path target;
  StorePlace store;
};
struct MoveCommand {
  std::filesystem::path target;
  StorePlace store;
};
struct RestoreCommand {
  std::filesystem::path backup;
  StorePlace store;  // where the new store comes to lie
};
struct RebuildCommand {
  StorePlace store;
};
struct CalibrateCommand {
  std::string bench, channel;
  std::filesystem::path points;  // reading_si,reference_si,u_reference_si
  std::string by, due, reference;
  bool yes = false;  // do not ask on a terminal
  StorePlace store;
};
struct CheckBenchCommand {
  std::string bench, kind, subject, by;
  std::vector<std::string> readings;  // "upstream_k=293.15"
  StorePlace store;
};
// Lots, a return, a repair, a decision or a withdrawal (daemon/line/enter_unit_fact.h).
struct EnterCommand {
  std::string kind;
  std::map<std::string, std::string> fields;
  StorePlace store;
};
struct WhereCommand {
  std::string lot;
  StorePlace store;
};
struct AlarmsCommand {
  std::int64_t take = 0, close = 0;  // the alarm's number; 0: list
  std::string by, cause, action;
  StorePlace store;
};

using Command = std::variant<
    RunCommand, EnterCommand, WhereCommand, CheckCommand, AcceptFilesCommand, HistoryCommand,
    TrendCommand, VerifyCommand, ReplayCommand, ExportCommand, CalibrateCommand, CheckBenchCommand,
    AlarmsCommand, CapabilityCommand, YieldCommand, ReturnsCommand, RiskCommand, WhatIfCommand,
    BackupCommand, RestoreCommand, RebuildCommand, ImportCommand, LimitsCommand, TrialCommand,
    TakeBenchCommand, ControlFreezeCommand, ControlListCommand, GaugeCommand, RatingCommand,
    CompareCommand, EnduranceCommand, HeadCommand, PruneTracesCommand, RejudgeCommand, MovedCommand,
    ImportLotsCommand, MoveCommand, BudgetCommand, NoiseCommand>;

[[nodiscard]] int run_command(const RunCommand& command);
[[nodiscard]] int run_command(const CheckCommand& command);
[[nodiscard]] int run_command(const AcceptFilesCommand& command);
[[nodiscard]] int run_command(const HistoryCommand& command);
[[nodiscard]] int run_command(const TrendCommand& command);
[[nodiscard]] int run_command(const VerifyCommand& command);
[[nodiscard]] int run_command(const HeadCommand& command);
[[nodiscard]] int run_command(const PruneTracesCommand& command);
[[nodiscard]] int run_command(const ReplayCommand& command);
[[nodiscard]] int run_command(const BudgetCommand& command);
[[nodiscard]] int run_command(const RejudgeCommand& command);
[[nodiscard]] int run_command(const MovedCommand& command);
[[nodiscard]] int run_command(const ExportCommand& command);
[[nodiscard]] int run_command(const ImportCommand& command);
[[nodiscard]] int run_command(const ImportLotsCommand& command);
[[nodiscard]] int run_command(const BackupCommand& command);
[[nodiscard]] int run_command(const MoveCommand& command);
[[nodiscard]] int run_command(const RestoreCommand& command);
[[nodiscard]] int run_command(const RebuildCommand& command);
[[nodiscard]] int run_command(const LimitsCommand& command);
[[nodiscard]] int run_command(const TrialCommand& command);
[[nodiscard]] int run_command(const TakeBenchCommand& command);
[[nodiscard]] int run_command(const ControlFreezeCommand& command);
[[nodiscard]] int run_command(const ControlListCommand& command);
[[nodiscard]] int run_command(const CapabilityCommand& command);
[[nodiscard]] int run_command(const YieldCommand& command);
[[nodiscard]] int run_command(const ReturnsCommand& command);
[[nodiscard]] int run_command(const RiskCommand& command);
[[nodiscard]] int run_command(const WhatIfCommand& command);
[[nodiscard]] int run_command(const GaugeCommand& command);
[[nodiscard]] int run_command(const NoiseCommand& command);
[[nodiscard]] int run_command(const RatingCommand& command);
[[nodiscard]] int run_command(const CompareCommand& command);
[[nodiscard]] int run_command(const EnduranceCommand& command);
[[nodiscard]] int run_command(const CalibrateCommand& command);
[[nodiscard]] int run_command(const CheckBenchCommand& command);
[[nodiscard]] int run_command(const AlarmsCommand& command);
[[nodiscard]] int run_command(const EnterCommand& command);
[[nodiscard]] int run_command(const WhereCommand& command);

}  // namespace endgate::daemon
