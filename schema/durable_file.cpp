#include "schema/durable_file.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <fstream>
#include <iterator>
#include <system_error>

#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

[[noreturn]] void fail(const std::filesystem::path& path, const char* doing) {
  const auto kind = errno == ENOSPC ? StoreFault::Kind::full : StoreFault::Kind::io;
  throw StoreFault(kind, std::string("cannot ") + doing + " " + path.string() + ": " +
                             std::generic_category().message(errno));
}

class File {
 public:
  File(const std::filesystem::path& path, int flags, mode_t mode)
      : path_(path), number_(::open(path.c_str(), flags | O_CLOEXEC, mode)) {
    if (number_ < 0) fail(path, "open");
  }
  ~File() { ::close(number_); }
  File(const File&) = delete;
  File& operator=(const File&) = delete;

  void write(std::span<const std::uint8_t> bytes) {
    while (!bytes.empty()) {
      const ssize_t written = ::write(number_, bytes.data(), bytes.size());
      if (written < 0 && errno == EINTR) continue;
      if (written < 0) fail(path_, "write");
      bytes = bytes.subspan(static_cast<std::size_t>(written));
    }
  }
  void sync() {
    if (fsync(number_) != 0) fail(path_, "sync");
  }

 private:
  std::filesystem::path path_;
  int number_;
};

}  // namespace

void write_durably(const std::filesystem::path& path, std::span<const std::uint8_t> bytes,
                   mode_t mode) {
  std::filesystem::path aside = path;
  aside += ".new";
  {
    File file(aside, O_WRONLY | O_CREAT | O_TRUNC, mode);
    file.write(bytes);
    file.sync();
  }
  if (::rename(aside.c_str(), path.c_str()) != 0) fail(path, "rename to");
  File(path.parent_path(), O_RDONLY | O_DIRECTORY, 0).sync();
}

std::optional<Bytes> read_file(const std::filesystem::path& path) {
  if (!std::filesystem::exists(path)) return std::nullopt;
  std::ifstream in(path, std::ios::binary);
  if (!in) fail(path, "read");
  return Bytes(std::istreambuf_iterator<char>(in), {});
}

}  // namespace endgate::schema
