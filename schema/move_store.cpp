#include "schema/move_store.h"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>

#include "schema/durable_file.h"
#include "schema/moved_mark.h"
#include "schema/owner_lock.h"
#include "schema/signing_key.h"
#include "schema/store.h"
#include "schema/unfinished_copy.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;

constexpr mode_t kKeyMode = 0600;

bool lies_inside(const fs::path& inner, const fs::path& outer) {
  const fs::path in = fs::weakly_canonical(inner), out = fs::weakly_canonical(outer);
  return std::mismatch(out.begin(), out.end(), in.begin(), in.end()).first == out.end();
}

// Files of another user's hand would be closed to the service.
void require_own(const fs::path& store) {
  struct stat facts {};
  if (::stat((store / "records.db").c_str(), &facts) == 0 && facts.st_uid == ::geteuid()) return;
  throw StoreFault(StoreFault::Kind::refused,
                   "the store in " + store.string() +
                       " belongs to another user; run this as the user the service runs as");
}

std::uintmax_t bytes_of_databases(const fs::path& store) {
  std::uintmax_t bytes = 0;
  for (const auto& entry : fs::directory_iterator(store))
    if (entry.is_regular_file() &&
        entry.path().filename().string().find(".db") != std::string::npos)
      bytes += entry.file_size();
  return bytes;
}

fs::path nearest_existing(fs::path folder) {
  folder = fs::absolute(folder);
  while (!fs::exists(folder)) folder = folder.parent_path();
  return folder;
}

void require_room(const fs::path& store, const fs::path& target) {
  const std::uintmax_t needed = bytes_of_databases(store);
  const std::uintmax_t there = fs::space(nearest_existing(target)).available;
  if (there >= needed) return;
  constexpr std::uintmax_t kMega = 1'000'000;
  throw StoreFault(StoreFault::Kind::full, "the store takes " + std::to_string(needed / kMega + 1) +
                                               " MB, and " + target.string() + " has room for " +
                                               std::to_string(there / kMega) +
                                               " MB; nothing was copied");
}

void copy_key(const fs::path& from, const fs::path& to) {
  if (const auto key = read_file(from / kSigningKeyFile))
    write_durably(to / kSigningKeyFile, *key, kKeyMode);
}

void require_same_head(const fs::path& store, const VerifyResult& copied) {
  const StoreReader reader(store);
  if (reader.head_at(reader.last_position()) == copied.head) return;
  throw StoreFault(StoreFault::Kind::damaged,
                   "the copy of " + store.string() +
                       " ends in another head than the store and was taken away; try again");
}

}  // namespace

VerifyResult move_store(const fs::path& store, const fs::path& target,
                        const BackupProgress& progress) {
  return guarded_files([&] {
    require_store(store);
    if (lies_inside(target, store))
      throw StoreFault(StoreFault::Kind::refused,
                       target.string() + " lies inside the store; name a folder elsewhere");
    require_own(store);
    const OwnerLock owned(store);
    refuse_moved(store);
    require_room(store, target);
    UnfinishedCopy copy(target);
    copy.copy_store(store, progress);
    copy_key(store, copy.folder());
    const VerifyResult result = copy.verified(store, progress);
    require_same_head(store, result);
    copy.finish();
    mark_moved(store, fs::weakly_canonical(target));
    return result;
  });
}

}  // namespace endgate::schema
