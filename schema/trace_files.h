// Which file does a trace go to?  Numbered files, one a month, opened when its first test comes.
//
// Once a later file exists an older one is never opened for writing again, also when the wall clock
// steps back: the newest file simply goes on.  Only a stated removal changes it
// (schema/prune_traces.h).  The number rules, the month inside is for people.

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "schema/seal.h"
#include "schema/sqlite_handle.h"

namespace endgate::schema {

[[nodiscard]] std::string trace_file_name(int number);                       // "trace-0001.db"
[[nodiscard]] int newest_trace_number(const std::filesystem::path& folder);  // 0: none
[[nodiscard]] std::string month_of(std::int64_t utc_ms);                     // "2026-11"

class TraceFiles {
 public:
  TraceFiles(std::filesystem::path folder, const StoreId& store);
  ~TraceFiles();
  TraceFiles(const TraceFiles&) = delete;
  TraceFiles& operator=(const TraceFiles&) = delete;

  // At the start of a test, so that a new file costs no time between last sample and verdict.
  void ready_for(std::int64_t utc_ms);

  // One sync.  The same trace of the same test twice is kept once.  Returns the name of the file.
  std::string append(Position start_position, const Hash& hash, const Bytes& bytes,
                     std::int64_t utc_ms);

  void checkpoint_when_due();

 private:
  struct OpenFile;
  void open_newest();
  void begin(OpenFile& file, const std::string& month);
  void create(int number, const std::string& month);
  void open(int number);

  std::filesystem::path folder_;
  StoreId store_;
  std::unique_ptr<OpenFile> file_;
};

// Keeps the file it read last open: traces of neighbouring tests share one.
class TraceReader {
 public:
  explicit TraceReader(std::filesystem::path folder);

  // The encoded bytes of one trace; nothing when the file or the trace is not there.
  [[nodiscard]] std::optional<Bytes> bytes_of(const std::string& file, Position start_position,
                                              const Hash& hash);
  // All that is kept for one start, pieces and the record's own trace, oldest first, over all
  // files.
  struct Found {
    std::string file;
    Hash sha256{};
  };
  [[nodiscard]] std::vector<Found> all_of(Position start_position);

 private:
  [[nodiscard]] bool open_file(const std::string& file);

  std::filesystem::path folder_;
  std::string name_;
  std::optional<Database> database_;
};

}  // namespace endgate::schema
