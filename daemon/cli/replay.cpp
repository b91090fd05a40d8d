// `endgate replay SERIAL`: evaluate a kept test again, with nothing but its record and trace; or
// write it as a run that a bench file can play.

#include "daemon/mapping/replay.h"

#include <algorithm>
#include <iostream>
#include <optional>

#include "analysis/say_number.h"
#include "daemon/cli/aside_file.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/queries/csv.h"
#include "daemon/queries/recorded_run.h"
#include "schema/copied_record.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

constexpr int kReplayDigits = 12;

struct KeptTest {
  schema::StoredRecord stored;
  std::optional<schema::Trace> trace;
};

std::string name_of(const ReplayCommand& command) {
  return command.serial +
         (command.attempt > 0 ? ", attempt " + std::to_string(command.attempt) : "");
}

std::optional<schema::StoredRecord> asked_record(const schema::StoreReader& store,
                                                 const ReplayCommand& command) {
  const std::vector<schema::StoredRecord> tests = store.records_of(command.serial);
  if (command.attempt == 0) return tests.empty() ? std::nullopt : std::optional(tests.back());
  const auto found = std::ranges::find(tests, command.attempt,
                                       [](const auto& test) { return test.record.start.attempt; });
  return found == tests.end() ? std::nullopt : std::optional(*found);
}

bool is_asked(const schema::Record& record, const ReplayCommand& command) {
  return (command.serial.empty() || command.serial == record.start.serial) &&
         (command.attempt == 0 || command.attempt == record.start.attempt);
}

std::optional<KeptTest> copied_test(const ReplayCommand& command) {
  schema::CopiedRecord copy = schema::read_copied_record(command.from);
  if (!is_asked(copy.stored.record, command)) return std::nullopt;
  return KeptTest{std::move(copy.stored), std::move(copy.trace)};
}

std::filesystem::path folder_of(const ReplayCommand& command) {
  return command.from.empty() ? store_folder(command.store) : command.from;
}

std::optional<KeptTest> stored_test(const ReplayCommand& command) {
  const schema::StoreReader store(folder_of(command));
  std::optional<schema::StoredRecord> record = asked_record(store, command);
  if (!record) return std::nullopt;
  std::optional<schema::Trace> trace = store.trace_of(*record);
  return KeptTest{std::move(*record), std::move(trace)};
}

std::optional<KeptTest> find_test(const ReplayCommand& command) {
  const bool is_copy = !command.from.empty() && schema::holds_copied_record(command.from);
  return is_copy ? copied_test(command) : stored_test(command);
}

std::optional<double> value_now(const analysis::Evaluation& evaluation, const std::string& id) {
  const auto found = std::ranges::find(evaluation.metrics, id, &analysis::Metric::id);
  return found == evaluation.metrics.end() ? std::nullopt : found->value;
}

void tell(const schema::Record& record, const ReplayResult& result) {
  std::vector<TextRow> rows{{"metric", "kept (SI)", "replayed (SI)", "u (SI)"}};
  for (const schema::MetricValue& metric : record.metrics)
    rows.push_back({metric.id, csv_number(metric.value, kReplayDigits),
                    csv_number(value_now(result.evaluation, metric.id), kReplayDigits),
                    csv_number(metric.u, kReplayDigits)});
  std::cout << record.start.serial << " attempt " << record.start.attempt << "\n";
  write_table(rows, std::cout);
  std::cout << "verdict: kept " << record.verdict << ", replayed "
            << word_of(result.evaluation.grade.verdict) << "\n";
  for (const analysis::LikelyCause& cause : result.evaluation.causes)
    std::cout << "cause: " << cause.name << ", " << analysis::say_probability(cause.probability)
              << ". " << cause.evidence << "\n";
  for (const std::string& difference : result.differences)
    std::cout << "differs: " << difference << "\n";
  std::cout << (result.bit_for_bit           ? "equal bit for bit\n"
                : result.differences.empty() ? "equal within the promise for another build\n"
                                             : "not equal; the verdict of record stands\n");
}

int say_no_trace(const schema::Record& record) {
  std::cerr << "This test has no trace to replay: "
            << (record.break_off.empty() ? "it was removed" : record.break_off) << ".\n";
  return kNegative;
}

int write_run(const KeptTest& test, const std::filesystem::path& path) {
  if (!test.trace) return say_no_trace(test.stored.record);
  AsideFile file(path);
  write_recorded_run(test.stored.record, *test.trace, file.stream());
  file.finish();
  std::cout << path.string() << "\n";
  return kOk;
}

int replay_test(const KeptTest& test) {
  if (!test.trace) return say_no_trace(test.stored.record);
  const ReplayResult result = replay(test.stored.record, *test.trace);
  tell(test.stored.record, result);
  return result.differences.empty() ? kOk : kNegative;
}

int copy_test(const ReplayCommand& command) {
  const schema::StoreReader store(folder_of(command));
  const std::optional<schema::StoredRecord> record = asked_record(store, command);
  if (!record) {
    std::cerr << "No test of " << name_of(command) << " is kept here.\n";
    return kNegative;
  }
  std::filesystem::create_directories(command.copy_to);
  schema::copy_out(store, record->position, command.copy_to);
  std::cout << command.copy_to.string() << "\n";
  return kOk;
}

}  // namespace

int run_command(const ReplayCommand& command) {
  if (command.serial.empty() && command.from.empty()) {
    std::cerr << "Name a serial, or a copied record with --from DIR.\n";
    return kUsage;
  }
  if (!command.copy_to.empty()) return copy_test(command);
  if (const std::optional<KeptTest> test = find_test(command))
    return command.run_to.empty() ? replay_test(*test) : write_run(*test, command.run_to);
  std::cerr << "No test of " << name_of(command) << " is kept here.\n";
  return kNegative;
}

}  // namespace endgate::daemon
