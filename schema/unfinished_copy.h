// A copy of a store that grows beside its place, `<target>.unfinished`, and takes its name only
// when it is whole; else it goes, so that copies that fail fill no disk.  Only a kill leaves it.

#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "schema/store_fault.h"
#include "schema/verify.h"

namespace endgate::schema {

// What is being done, and how much of it; `of` 0: not known.
struct BackupStep {
  std::string doing;
  std::int64_t done = 0, of = 0;
};
using BackupProgress = std::function<void(const BackupStep&)>;

class UnfinishedCopy {
 public:
  // StoreFault::refused when the target has files in it.
  explicit UnfinishedCopy(std::filesystem::path target);
  ~UnfinishedCopy();
  UnfinishedCopy(const UnfinishedCopy&) = delete;
  UnfinishedCopy& operator=(const UnfinishedCopy&) = delete;

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }

  // Truth, then every trace file, synced.  The source is only read.  StoreFault.
  void copy_store(const std::filesystem::path& from, const BackupProgress& progress) const;
  // Every fact and every trace of the copy.  StoreFault::damaged names the first bad fact.
  [[nodiscard]] VerifyResult verified(const std::filesystem::path& from,
                                      const BackupProgress& progress) const;
  // The copy stands at its target, synced.
  void finish();

 private:
  std::filesystem::path target_, folder_;
  bool finished_ = false;
};

// There, and of a version this program knows: asked before anything is copied.  StoreFault.
void require_store(const std::filesystem::path& folder);

// Errors of the file system in the words of a store.
template <class Work>
auto guarded_files(const Work& work) {
  try {
    return work();
  } catch (const std::filesystem::filesystem_error& error) {
    throw StoreFault(StoreFault::Kind::io, error.what());
  }
}

}  // namespace endgate::schema
