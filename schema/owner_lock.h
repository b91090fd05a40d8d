// Who may write to this folder?  flock on `owner.lock`, with the holder's pid inside for people.
//
// The kernel drops the lock when its process ends however it ends; the file itself stays.

#pragma once

#include <filesystem>

namespace endgate::schema {

class OwnerLock {
 public:
  // StoreFault::busy names the pid of the holder.
  explicit OwnerLock(const std::filesystem::path& folder);
  ~OwnerLock();
  OwnerLock(const OwnerLock&) = delete;
  OwnerLock& operator=(const OwnerLock&) = delete;

 private:
  int file_;
};

// Is the folder owned by a process that lives?  Changes nothing in it and throws nothing.  One that
// was killed while a thread of it hangs in a call to the disk keeps the lock until that call ends,
// but does nothing any more: it does not live.  May hang itself on a disk that does.
[[nodiscard]] bool has_living_owner(const std::filesystem::path& folder) noexcept;

}  // namespace endgate::schema
