#include "schema/trace_files.h"

#include <algorithm>
#include <chrono>
#include <cstdio>
#include <string_view>

#include "schema/migrations.h"
#include "schema/wal_gauge.h"

namespace endgate::schema {
namespace {

// 0 for any other file.
int number_of(const std::string& name) {
  constexpr std::string_view before = "trace-";
  const std::size_t digits = name.find_first_not_of("0123456789", before.size()) - before.size();
  const bool ours = name.starts_with(before) && digits >= 4 && digits <= 9 &&
                    name.substr(before.size() + digits) == ".db";
  return ours ? std::stoi(name.substr(before.size(), digits)) : 0;
}

}  // namespace

int newest_trace_number(const std::filesystem::path& folder) {
  int newest = 0;
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    newest = std::max(newest, number_of(entry.path().filename().string()));
  return newest;
}

std::string trace_file_name(int number) {
  char name[32];
  std::snprintf(name, sizeof name, "trace-%04d.db", number);
  return name;
}

std::string month_of(std::int64_t utc_ms) {
  using namespace std::chrono;
  const year_month_day date{floor<days>(sys_time<milliseconds>{milliseconds{utc_ms}})};
  char month[32];
  std::snprintf(month, sizeof month, "%04d-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()));
  return month;
}

struct TraceFiles::OpenFile {
  OpenFile(const std::filesystem::path& path, int number_in)
      : number(number_in), database(path, Database::Mode::read_write) {
    prepare_for_writing(database, kTraceFile);
    gauge.emplace(database);
  }
  // After a checkpoint and after opening, so that the first trace finds a started log.
  void note(const std::string& cause) {
    Statement(database, "INSERT INTO housekeeping(cause) VALUES(?)").execute({cause});
  }

  int number;
  Database database;
  std::optional<WalGauge> gauge;
  std::string month;
};

TraceFiles::TraceFiles(std::filesystem::path folder, const StoreId& store)
    : folder_(std::move(folder)), store_(store) {
  open_newest();
}

TraceFiles::~TraceFiles() {
  if (!file_) return;
  try {
    file_->gauge->checkpoint_and_truncate();
  } catch (const StoreFault&) {  // the log keeps what the file did not take
  }
}

void TraceFiles::open_newest() {
  const int number = newest_trace_number(folder_);
  if (number > 0) open(number);
}

void TraceFiles::open(int number) {
  auto file = std::make_unique<OpenFile>(folder_ / trace_file_name(number), number);
  file->month = file->database.text("SELECT month FROM file");
  if (!file->month.empty()) file->note("opened");
  file_ = std::move(file);
}

void TraceFiles::begin(OpenFile& file, const std::string& month) {
  Statement(file.database, "INSERT INTO file(number, month, store_id) VALUES(?, ?, ?)")
      .execute({std::int64_t{file.number}, month, blob(store_)});
  file.month = month;
}

void TraceFiles::create(int number, const std::string& month) {
  auto file = std::make_unique<OpenFile>(folder_ / trace_file_name(number), number);
  begin(*file, month);
  if (file_) file_->gauge->checkpoint_and_truncate();
  file_ = std::move(file);
}

void TraceFiles::ready_for(std::int64_t utc_ms) {
  const std::string month = month_of(utc_ms);
  if (!file_) return create(1, month);
  if (file_->month.empty()) return begin(*file_, month);  // made, then cut off by a crash
  if (file_->month < month) create(file_->number + 1, month);
}

std::string TraceFiles::append(Position start_position, const Hash& hash, const Bytes& bytes,
                               std::int64_t utc_ms) {
  if (!file_ || file_->month.empty()) ready_for(utc_ms);
  Statement(file_->database,
            "INSERT INTO trace(start_position, sha256, bytes) VALUES(?, ?, ?)"
            " ON CONFLICT DO NOTHING")
      .execute({start_position, blob(hash), bytes});
  return trace_file_name(file_->number);
}

void TraceFiles::checkpoint_when_due() {
  if (file_ && file_->gauge->checkpoint_when_due()) file_->note("checkpoint");
}

TraceReader::TraceReader(std::filesystem::path folder) : folder_(std::move(folder)) {}

std::optional<Bytes> TraceReader::bytes_of(const std::string& file, Position start_position,
                                           const Hash& hash) {
  if (!open_file(file)) return std::nullopt;
  const Statement statement(*database_,
                            "SELECT bytes FROM trace WHERE start_position = ? AND sha256 = ?");
  Rows rows = statement.query({start_position, blob(hash)});
  if (!rows.next()) return std::nullopt;
  return rows.bytes(0);
}

std::vector<TraceReader::Found> TraceReader::all_of(Position start_position) {
  std::vector<Found> found;
  const int newest = newest_trace_number(folder_);
  for (int number = 1; number <= newest; ++number) {
    const std::string file = trace_file_name(number);
    if (!open_file(file)) continue;
    const Statement statement(*database_,
                              "SELECT sha256 FROM trace WHERE start_position = ? ORDER BY id");
    Rows rows = statement.query({start_position});
    while (rows.next()) {
      const Bytes bytes = rows.bytes(0);
      Found each{file, {}};
      std::copy_n(bytes.begin(), std::min(bytes.size(), each.sha256.size()), each.sha256.begin());
      found.push_back(std::move(each));
    }
  }
  return found;
}

bool TraceReader::open_file(const std::string& file) {
  if (database_ && file == name_) return true;
  const std::filesystem::path path = folder_ / file;
  if (file.empty() || !std::filesystem::exists(path)) return false;
  database_.reset();
  database_.emplace(path, Database::Mode::read_only);
  prepare_for_reading(*database_, kTraceFile);
  name_ = file;
  return true;
}

}  // namespace endgate::schema
