#include "schema/unfinished_copy.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <thread>
#include <vector>

#include "schema/migrations.h"
#include "schema/sqlite_handle.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;

constexpr int kPagesPerStep = 256;  // 1 MB: between two steps the disk is free for a test
constexpr auto kBetweenSteps = std::chrono::milliseconds(2);
constexpr int kMostRestarts = 3;                     // then the rest is copied in one step
constexpr auto kPatience = std::chrono::minutes(1);  // with a database that somebody holds

[[noreturn]] void refuse_backup(const std::string& what) {
  throw StoreFault(StoreFault::Kind::refused, what);
}

void tell(const BackupProgress& progress, const BackupStep& step) {
  if (progress) progress(step);
}

// One file.  The reading transaction lives within a step, so a checkpoint is never held up.
void copy_database(const fs::path& from, const fs::path& to, const BackupProgress& progress) {
  Database source(from, Database::Mode::read_only);
  Database target(to, Database::Mode::read_write);
  target.run("PRAGMA synchronous=FULL");
  const std::unique_ptr<sqlite3_backup, int (*)(sqlite3_backup*)> copy(
      sqlite3_backup_init(target.raw(), "main", source.raw(), "main"), &sqlite3_backup_finish);
  if (!copy) target.check(sqlite3_errcode(target.raw()), "begin a copy");
  int left = 0;
  int restarts = 0;
  auto last_step = std::chrono::steady_clock::now();
  for (int code = SQLITE_OK; code != SQLITE_DONE;) {
    code = sqlite3_backup_step(copy.get(), restarts > kMostRestarts ? -1 : kPagesPerStep);
    const bool held = code == SQLITE_BUSY || code == SQLITE_LOCKED;
    const auto now_is = std::chrono::steady_clock::now();
    if (!held) last_step = now_is;
    if (held && now_is - last_step < kPatience) code = SQLITE_OK;
    target.check(code, "copy " + from.filename().string());
    const int now = sqlite3_backup_remaining(copy.get());
    if (left > 0 && now >= left) ++restarts;  // the writer committed: begun again
    left = now;
    const int all = sqlite3_backup_pagecount(copy.get());
    tell(progress, {"pages of " + from.filename().string(), all - left, all});
    std::this_thread::sleep_for(kBetweenSteps);
  }
}

void sync_path(const fs::path& path) {
  const int file = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  const bool done = file >= 0 && ::fsync(file) == 0;
  if (file >= 0) ::close(file);
  if (!done) throw StoreFault(StoreFault::Kind::io, "cannot sync " + path.string());
}

std::vector<fs::path> trace_files_in(const fs::path& folder) {
  std::vector<fs::path> files;
  for (const auto& entry : fs::directory_iterator(folder)) {
    const std::string name = entry.path().filename().string();
    if (name.starts_with("trace-") && name.ends_with(".db")) files.push_back(entry.path());
  }
  std::ranges::sort(files);
  return files;
}

}  // namespace

UnfinishedCopy::UnfinishedCopy(fs::path target) : target_(std::move(target)) {
  if (fs::exists(target_) && !(fs::is_directory(target_) && fs::is_empty(target_)))
    refuse_backup(target_.string() + " has something in it; name a folder that is new or empty");
  if (target_.filename().empty()) target_ = target_.parent_path();
  folder_ = target_;
  folder_ += ".unfinished";
  fs::remove_all(folder_);
  fs::create_directories(folder_);
}

UnfinishedCopy::~UnfinishedCopy() {
  std::error_code what_is_left_is_harmless;
  if (!finished_) fs::remove_all(folder_, what_is_left_is_harmless);
}

void UnfinishedCopy::copy_store(const fs::path& from, const BackupProgress& progress) const {
  copy_database(from / "records.db", folder_ / "records.db", progress);
  for (const fs::path& file : trace_files_in(from))
    copy_database(file, folder_ / file.filename(), progress);
  for (const auto& entry : fs::directory_iterator(folder_)) sync_path(entry.path());
  sync_path(folder_);
}

VerifyResult UnfinishedCopy::verified(const fs::path& from, const BackupProgress& progress) const {
  const VerifyResult result = verify(folder_, true, [&](std::int64_t done) {
    tell(progress, {"facts verified", done, 0});
  });
  if (result.first_bad)
    throw StoreFault(StoreFault::Kind::damaged,
                     "the copy of " + from.string() + " does not count and was taken away: " +
                         "position " + std::to_string(*result.first_bad) + ": " + result.what);
  return result;
}

void UnfinishedCopy::finish() {
  fs::remove(target_);
  fs::rename(folder_, target_);
  finished_ = true;
  sync_path(fs::absolute(target_).parent_path());
}

void require_store(const fs::path& folder) {
  if (!fs::exists(folder / "records.db"))
    throw StoreFault(StoreFault::Kind::io,
                     "there is no store in " + folder.string() + " (records.db is missing)");
  Database database(folder / "records.db", Database::Mode::read_only);
  prepare_for_checking(database, kTruthFile);
}

}  // namespace endgate::schema
