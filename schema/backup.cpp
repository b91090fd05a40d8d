#include "schema/backup.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <chrono>
#include <thread>
#include <vector>

#include "schema/migrations.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;

constexpr int kPagesPerStep = 256;  // 1 MB: between two steps the disk is free for a test
constexpr auto kBetweenSteps = std::chrono::milliseconds(2);
constexpr int kMostRestarts = 3;  // then the rest is copied in one step

[[noreturn]] void refuse(const std::string& what) {
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
  for (int code = SQLITE_OK; code != SQLITE_DONE;) {
    code = sqlite3_backup_step(copy.get(), restarts > kMostRestarts ? -1 : kPagesPerStep);
    if (code == SQLITE_BUSY || code == SQLITE_LOCKED) code = SQLITE_OK;
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

void copy_store(const fs::path& from, const fs::path& to, const BackupProgress& progress) {
  copy_database(from / "records.db", to / "records.db", progress);
  for (const fs::path& file : trace_files_in(from))
    copy_database(file, to / file.filename(), progress);
  for (const auto& entry : fs::directory_iterator(to)) sync_path(entry.path());
  sync_path(to);
}

VerifyResult verified(const fs::path& folder, const BackupProgress& progress) {
  const VerifyResult result = verify(folder, true, [&](std::int64_t done) {
    tell(progress, {"facts verified", done, 0});
  });
  if (result.first_bad)
    throw StoreFault(StoreFault::Kind::damaged, folder.string() + " does not count: position " +
                                                    std::to_string(*result.first_bad) + ": " +
                                                    result.what);
  return result;
}

// Made empty; a rest of an earlier attempt goes.
fs::path unfinished(const fs::path& target) {
  if (fs::exists(target) && !(fs::is_directory(target) && fs::is_empty(target)))
    refuse(target.string() + " has something in it; name a folder that is new or empty");
  fs::path aside = target;
  if (aside.filename().empty()) aside = aside.parent_path();
  aside += ".unfinished";
  fs::remove_all(aside);
  fs::create_directories(aside);
  return aside;
}

void finish(const fs::path& aside, fs::path target) {
  if (target.filename().empty()) target = target.parent_path();
  fs::remove(target);
  fs::rename(aside, target);
  sync_path(fs::absolute(target).parent_path());
}

// Errors of the file system in the words of a store.
template <class Work>
auto guarded(const Work& work) {
  try {
    return work();
  } catch (const fs::filesystem_error& error) {
    throw StoreFault(StoreFault::Kind::io, error.what());
  }
}

void require_store(const fs::path& folder) {
  if (fs::exists(folder / "records.db")) return;
  throw StoreFault(StoreFault::Kind::io,
                   "there is no store in " + folder.string() + " (records.db is missing)");
}

}  // namespace

VerifyResult back_up(const fs::path& store, const fs::path& target,
                     const BackupProgress& progress) {
  return guarded([&] {
    require_store(store);
    const fs::path aside = unfinished(target);
    copy_store(store, aside, progress);
    const VerifyResult result = verified(aside, progress);
    finish(aside, target);
    return result;
  });
}

std::string restore(const fs::path& backup, const fs::path& store, const BackupProgress& progress) {
  return guarded([&] {
    require_store(backup);
    const fs::path aside = unfinished(store);
    copy_store(backup, aside, progress);
    verified(aside, progress);
    StoreWriter::open_as_restored(aside);
    verified(aside, progress);
    finish(aside, store);
    return StoreReader(store).store_id();
  });
}

}  // namespace endgate::schema
