#include "schema/owner_lock.h"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>
#include <chrono>
#include <fstream>
#include <iterator>
#include <string>
#include <system_error>
#include <thread>

#include "schema/store_fault.h"

namespace endgate::schema {
namespace {

std::string pid_in(int file) {
  char text[32] = {};
  const ssize_t got = pread(file, text, sizeof text - 1, 0);
  std::string pid(text, got > 0 ? static_cast<std::size_t>(got) : 0);
  while (!pid.empty() && pid.back() == '\n') pid.pop_back();
  return pid.empty() ? "unknown" : pid;
}

[[noreturn]] void refuse_busy(const std::filesystem::path& folder, const std::string& pid) {
  throw StoreFault(StoreFault::Kind::busy,
                   "the store in " + folder.string() + " is in use by process " + pid +
                       "; stop it, or let it do the work through its page or API");
}

[[noreturn]] void refuse_io(const std::filesystem::path& path) {
  throw StoreFault(StoreFault::Kind::io,
                   "cannot lock " + path.string() + ": " + std::generic_category().message(errno));
}

void write_pid(int file) {
  const std::string pid = std::to_string(getpid()) + "\n";
  if (ftruncate(file, 0) != 0) return;  // the pid is a courtesy; the lock is what counts
  if (pwrite(file, pid.data(), pid.size(), 0) < 0) return;
}

// The state of its leader, proc(5): the third field, behind a name that may hold anything but is
// closed by the last bracket.  A process nobody can look at is taken to live.
bool is_dead(const std::string& pid) {
  std::ifstream in("/proc/" + pid + "/stat");
  const std::string stat{std::istreambuf_iterator<char>(in), {}};
  const std::size_t name_end = stat.rfind(')');
  if (name_end == std::string::npos || name_end + 2 >= stat.size()) return false;
  return std::string("ZXx").find(stat[name_end + 2]) != std::string::npos;
}

struct OpenFile {
  explicit OpenFile(const std::filesystem::path& path)
      : number(::open(path.c_str(), O_RDONLY | O_CLOEXEC)) {}
  ~OpenFile() {
    if (number >= 0) ::close(number);
  }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
  const int number;
};

// Whoever looks whether the folder has an owner holds the lock for that moment.
constexpr std::chrono::milliseconds kALookTakes{50};

// errno tells why not.
bool locked_within(int file, std::chrono::milliseconds time) {
  const auto until = std::chrono::steady_clock::now() + time;
  while (flock(file, LOCK_EX | LOCK_NB) != 0) {
    if (errno != EWOULDBLOCK || std::chrono::steady_clock::now() >= until) return false;
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  }
  return true;
}

}  // namespace

OwnerLock::OwnerLock(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / "owner.lock";
  file_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0644);
  if (file_ < 0) refuse_io(path);
  if (locked_within(file_, kALookTakes)) {
    write_pid(file_);
    return;
  }
  const bool held = errno == EWOULDBLOCK;
  const std::string pid = pid_in(file_);
  ::close(file_);
  if (held) refuse_busy(folder, pid);
  refuse_io(path);
}

OwnerLock::~OwnerLock() { ::close(file_); }

bool has_living_owner(const std::filesystem::path& folder) noexcept {
  try {
    const OpenFile file(folder / "owner.lock");
    if (file.number < 0 || flock(file.number, LOCK_SH | LOCK_NB) == 0) return false;
    return errno == EWOULDBLOCK && !is_dead(pid_in(file.number));
  } catch (...) {  // no memory for a path: nothing is known
    return false;
  }
}

}  // namespace endgate::schema
