#include "schema/prune_traces.h"

#include <system_error>

#include "schema/migrations.h"
#include "schema/trace_files.h"

namespace endgate::schema {
namespace {

// "[2,5,9]", for json_each(): one parameter however many there are.
std::string starts_to_take(const std::filesystem::path& folder) {
  Database truth(folder / "records.db", Database::Mode::read_only);
  prepare_for_reading(truth, kTruthFile);
  return truth.text(
      "SELECT json_group_array(r.start_position) FROM trace_removed t"
      " JOIN record r ON r.position = t.record");
}

constexpr const char* kOfStarts = "start_position IN (SELECT value FROM json_each(?))";

class TraceFile {
 public:
  explicit TraceFile(const std::filesystem::path& path, bool may_write)
      : path_(path),
        database_(path, may_write ? Database::Mode::read_write : Database::Mode::read_only) {
    may_write ? prepare_for_writing(database_, kTraceFile)
              : prepare_for_reading(database_, kTraceFile);
  }

  [[nodiscard]] std::int64_t held(const std::string& starts) {
    const Statement statement(database_,
                              std::string("SELECT COUNT(*) FROM trace WHERE ") + kOfStarts);
    Rows rows = statement.query({starts});
    return rows.next() ? rows.integer(0) : 0;
  }
  // The trigger that forbids it steps aside within the transaction alone.
  void take(const std::string& starts) {
    const std::string trigger =
        database_.text("SELECT sql FROM main.sqlite_schema WHERE name = 'trace_is_never_deleted'");
    Transaction transaction(database_);
    database_.run("DROP TRIGGER trace_is_never_deleted");
    Statement(database_, std::string("DELETE FROM trace WHERE ") + kOfStarts).execute({starts});
    database_.run(trigger);
    transaction.commit();
  }
  // Of a call that was cut off too.
  [[nodiscard]] bool has_free_space() { return database_.number("PRAGMA freelist_count") > 0; }
  std::uintmax_t give_space_back() {
    const std::uintmax_t before = size();
    database_.run("VACUUM");
    database_.run("PRAGMA wal_checkpoint(TRUNCATE)");
    const std::uintmax_t after = size();
    return before > after ? before - after : 0;
  }

 private:
  [[nodiscard]] std::uintmax_t size() const {
    std::error_code error;
    const std::uintmax_t bytes = std::filesystem::file_size(path_, error);
    return error ? 0 : bytes;
  }

  std::filesystem::path path_;
  Database database_;
};

}  // namespace

PrunedTraces take_stated_traces(const std::filesystem::path& folder,
                                const std::function<void(const std::string& file)>& progress) {
  PrunedTraces pruned;
  const std::string starts = starts_to_take(folder);
  const int newest = newest_trace_number(folder);
  for (int number = 1; number <= newest; ++number) {
    const std::filesystem::path path = folder / trace_file_name(number);
    if (!std::filesystem::exists(path)) continue;
    TraceFile file(path, number < newest);
    const std::int64_t held = file.held(starts);
    if (number == newest) {
      pruned.waiting = held;
      break;
    }
    if (held > 0) file.take(starts);
    pruned.traces += held;
    if (!file.has_free_space()) continue;
    if (progress) progress(trace_file_name(number));
    pruned.bytes += file.give_space_back();
  }
  return pruned;
}

std::string newest_trace_file(const std::filesystem::path& folder) {
  const int newest = newest_trace_number(folder);
  return newest > 0 ? trace_file_name(newest) : std::string();
}

}  // namespace endgate::schema
