#include "schema/backup.h"

#include "schema/store.h"
#include "schema/unfinished_copy.h"

namespace endgate::schema {

VerifyResult back_up(const std::filesystem::path& store, const std::filesystem::path& target,
                     const BackupProgress& progress) {
  return guarded_files([&] {
    require_store(store);
    UnfinishedCopy copy(target);
    copy.copy_store(store, progress);
    const VerifyResult result = copy.verified(store, progress);
    copy.finish();
    return result;
  });
}

std::string restore(const std::filesystem::path& backup, const std::filesystem::path& store,
                    const BackupProgress& progress) {
  return guarded_files([&] {
    require_store(backup);
    UnfinishedCopy copy(store);
    copy.copy_store(backup, progress);
    (void)copy.verified(backup, progress);
    StoreWriter::open_as_restored(copy.folder());
    (void)copy.verified(backup, progress);
    copy.finish();
    return StoreReader(store).store_id();
  });
}

}  // namespace endgate::schema
