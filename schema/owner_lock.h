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

}  // namespace endgate::schema
