// What does SQLite ask of the disk, and what if the disk says no?  A thin layer over its own VFS.
//
// While one lives it is the default VFS: it counts syncs, reads and written bytes by file, and fails
// the n-th write or sync (counted from `fail_at`) and all later ones with the code it was given.  On
// request it also keeps a log of all it passes on, or passes no sync on (for speed, where the test
// is about something else).
//
// Threading: files may be used on any thread; counts and log are read while nothing writes.

#pragma once

#include <sqlite3.h>

#include <cstring>
#include <filesystem>
#include <map>
#include <mutex>
#include <string>
#include <vector>

namespace endgate::test {

class ShimVfs {
 public:
  ShimVfs() : base_(sqlite3_vfs_find(nullptr)), vfs_(*base_) {
    current() = this;
    vfs_.zName = "shim";
    vfs_.szOsFile = static_cast<int>(sizeof(File)) + base_->szOsFile;
    vfs_.xOpen = &ShimVfs::open;
    vfs_.xDelete = [](sqlite3_vfs*, const char* name, int sync_folder) {
      const Operation::What what =
          sync_folder ? Operation::What::remove_synced : Operation::What::remove;
      current()->note({what, std::filesystem::path(name).filename().string()});
      return current()->base_->xDelete(current()->base_, name, sync_folder);
    };
    sqlite3_vfs_register(&vfs_, 1);
  }
  ~ShimVfs() {
    sqlite3_vfs_unregister(&vfs_);
    sqlite3_vfs_register(base_, 1);
    current() = nullptr;
  }
  ShimVfs(const ShimVfs&) = delete;
  ShimVfs& operator=(const ShimVfs&) = delete;

  enum class What { write, sync };
  // The n-th `what` from now fails with `code`, n from 1, and so does every later one; only to
  // files whose name begins so.
  void fail_at(What what, int n, int code, const std::string& files = "") {
    const std::lock_guard lock(mutex_);
    what_ = what;
    left_ = n;
    code_ = code;
    files_ = files;
  }
  void heal() {
    const std::lock_guard lock(mutex_);
    left_ = 0;
  }
  [[nodiscard]] bool has_failed() const {
    const std::lock_guard lock(mutex_);
    return left_ < 0;
  }

  struct Operation {
    enum class What { write, truncate, sync, remove, remove_synced };
    What what;
    std::string file;
    std::int64_t at = 0;  // offset, or the size after a truncation
    std::string bytes = {};
  };
  bool keep_log = false;
  std::vector<Operation> log;
  bool sync_really = true;

  void reset_counts() {
    syncs.clear();
    bytes.clear();
    reads.clear();
  }
  [[nodiscard]] int all_reads() const {
    int sum = 0;
    for (const auto& [file, count] : reads) sum += count;
    return sum;
  }
  [[nodiscard]] int all_syncs() const {
    int sum = 0;
    for (const auto& [file, count] : syncs) sum += count;
    return sum;
  }

  std::map<std::string, int> syncs;           // by file name
  std::map<std::string, std::int64_t> bytes;  // written, by file name
  std::map<std::string, int> reads;           // of pages and heads, by file name

 private:
  struct File {
    sqlite3_file shim;
    const char* name;  // SQLite keeps it alive as long as the file is open
    sqlite3_io_methods methods;
  };

  static ShimVfs*& current() {
    static ShimVfs* instance = nullptr;
    return instance;
  }
  static sqlite3_file* real(sqlite3_file* file) {
    return reinterpret_cast<sqlite3_file*>(reinterpret_cast<char*>(file) + sizeof(File));
  }
  static std::string name_of(sqlite3_file* file) {
    const char* name = reinterpret_cast<File*>(file)->name;
    return name ? std::filesystem::path(name).filename().string() : "temporary";
  }

  int verdict(What what, const std::string& file) {
    const std::lock_guard lock(mutex_);
    if (what != what_ || left_ == 0 || !file.starts_with(files_)) return SQLITE_OK;
    if (left_ > 0 && --left_ == 0) left_ = -1;
    return left_ < 0 ? code_ : SQLITE_OK;
  }

  void note(Operation operation) {
    const std::lock_guard lock(mutex_);
    if (operation.what == Operation::What::sync) ++syncs[operation.file];
    if (operation.what == Operation::What::write)
      bytes[operation.file] += static_cast<std::int64_t>(operation.bytes.size());
    if (keep_log) log.push_back(std::move(operation));
  }

  void note_read(const std::string& file) {
    const std::lock_guard lock(mutex_);
    ++reads[file];
  }

  static int open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
    auto* self = reinterpret_cast<File*>(file);
    std::memset(static_cast<void*>(self), 0, sizeof(File));
    const int code = current()->base_->xOpen(current()->base_, name, real(file), flags, out);
    if (!real(file)->pMethods) return code;
    self->name = name;
    fill(self->methods, *real(file)->pMethods);
    file->pMethods = &self->methods;
    return code;
  }

  static void fill(sqlite3_io_methods& m, const sqlite3_io_methods& base) {
    m.iVersion = base.iVersion;
    m.xClose = [](sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); };
    m.xRead = [](sqlite3_file* f, void* to, int n, sqlite3_int64 at) {
      current()->note_read(name_of(f));
      return real(f)->pMethods->xRead(real(f), to, n, at);
    };
    m.xWrite = &ShimVfs::write;
    m.xTruncate = [](sqlite3_file* f, sqlite3_int64 n) {
      current()->note({Operation::What::truncate, name_of(f), n});
      return real(f)->pMethods->xTruncate(real(f), n);
    };
    m.xSync = &ShimVfs::sync;
    m.xFileSize = [](sqlite3_file* f, sqlite3_int64* n) {
      return real(f)->pMethods->xFileSize(real(f), n);
    };
    m.xLock = [](sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); };
    m.xUnlock = [](sqlite3_file* f, int level) {
      return real(f)->pMethods->xUnlock(real(f), level);
    };
    m.xCheckReservedLock = [](sqlite3_file* f, int* out) {
      return real(f)->pMethods->xCheckReservedLock(real(f), out);
    };
    m.xFileControl = [](sqlite3_file* f, int op, void* arg) {
      return real(f)->pMethods->xFileControl(real(f), op, arg);
    };
    m.xSectorSize = [](sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); };
    m.xDeviceCharacteristics = [](sqlite3_file* f) {
      return real(f)->pMethods->xDeviceCharacteristics(real(f));
    };
    m.xShmMap = [](sqlite3_file* f, int page, int size, int extend, void volatile** out) {
      return real(f)->pMethods->xShmMap(real(f), page, size, extend, out);
    };
    m.xShmLock = [](sqlite3_file* f, int offset, int n, int flags) {
      return real(f)->pMethods->xShmLock(real(f), offset, n, flags);
    };
    m.xShmBarrier = [](sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); };
    m.xShmUnmap = [](sqlite3_file* f, int remove) {
      return real(f)->pMethods->xShmUnmap(real(f), remove);
    };
    m.xFetch = [](sqlite3_file* f, sqlite3_int64 at, int n, void** out) {
      return real(f)->pMethods->xFetch(real(f), at, n, out);
    };
    m.xUnfetch = [](sqlite3_file* f, sqlite3_int64 at, void* p) {
      return real(f)->pMethods->xUnfetch(real(f), at, p);
    };
  }

  static int write(sqlite3_file* f, const void* from, int n, sqlite3_int64 at) {
    if (const int code = current()->verdict(What::write, name_of(f))) return code;
    current()->note({Operation::What::write, name_of(f), at,
                     std::string(static_cast<const char*>(from), static_cast<std::size_t>(n))});
    return real(f)->pMethods->xWrite(real(f), from, n, at);
  }
  static int sync(sqlite3_file* f, int flags) {
    if (const int code = current()->verdict(What::sync, name_of(f))) return code;
    current()->note({Operation::What::sync, name_of(f)});
    return current()->sync_really ? real(f)->pMethods->xSync(real(f), flags) : SQLITE_OK;
  }

  sqlite3_vfs* base_;
  sqlite3_vfs vfs_;
  What what_ = What::write;
  int left_ = 0;  // 0: healthy, above: until it fails, below: failing
  int code_ = SQLITE_OK;
  std::string files_;
  mutable std::mutex mutex_;
};

}  // namespace endgate::test
