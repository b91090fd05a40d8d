#include "daemon/cli/aside_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <system_error>

#include "daemon/cli/store_place.h"
#include "schema/store_fault.h"

namespace endgate::daemon {
namespace {

bool synced(const std::filesystem::path& path) {
  const int number = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  const bool good = number >= 0 && ::fsync(number) == 0;
  if (number >= 0) ::close(number);
  return good;
}

}  // namespace

AsideFile::AsideFile(std::filesystem::path path) : path_(std::move(path)), aside_(path_) {
  aside_ += ".new";
  out_.open(aside_, std::ios::binary | std::ios::trunc);
  if (!out_) throw ConfigurationFault(path_.string() + ": expected a folder to write into");
}

AsideFile::~AsideFile() {
  std::error_code none;
  if (!finished_) std::filesystem::remove(aside_, none);
}

void AsideFile::finish() {
  errno = 0;
  out_.close();
  if (!out_ || !synced(aside_) || ::rename(aside_.c_str(), path_.c_str()) != 0)
    throw schema::StoreFault(
        errno == ENOSPC ? schema::StoreFault::Kind::full : schema::StoreFault::Kind::io,
        "cannot write " + path_.string() + ": " + std::generic_category().message(errno) +
            ". Nothing stands under that name that was not there before.");
  finished_ = true;
}

}  // namespace endgate::daemon
