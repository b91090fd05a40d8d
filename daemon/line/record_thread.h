// Who writes?  The one thread that owns the StoreWriter, behind a bounded queue.
//
// Threading: post() from any thread; jobs run one by one in order on the thread of this object.
// When the queue is full the job is refused and the bench does not start its next test.  Places of
// their own are kept for results: what people enter never costs the record of a finished test.

#pragma once

#include <atomic>
#include <condition_variable>
#include <deque>
#include <filesystem>
#include <functional>
#include <mutex>
#include <thread>

#include "daemon/line/stray.h"
#include "schema/store.h"

namespace endgate::daemon {

class RecordThread {
 public:
  using Job = std::function<void(schema::StoreWriter&)>;

  // Throws schema::StoreFault when the store cannot be opened for writing.  `stray`: of what a job
  // threw without awaiting it; the next job runs all the same.
  explicit RecordThread(
      const std::filesystem::path& store_folder, TellStray stray = [](const std::string&) {});
  ~RecordThread();
  RecordThread(const RecordThread&) = delete;
  RecordThread& operator=(const RecordThread&) = delete;

  // Runs what is queued, then takes no more.  Once; the destructor does it otherwise.
  void finish();

  enum class Carries { entry, result };
  // False: the queue is full and `job` will not run.  A job catches its own StoreFault: whoever
  // waits for its answer must hear of it.
  [[nodiscard]] bool post(Job job, Carries what = Carries::entry);

  // As after the last job; waits for nothing and reads nothing.
  [[nodiscard]] schema::Position last_position() const { return last_position_; }
  [[nodiscard]] bool disk_failed() const { return disk_failed_; }

 private:
  static constexpr std::size_t kEntries = 64, kReservedForResults = 32;
  void run();

  TellStray stray_;
  schema::StoreWriter writer_;
  std::atomic<schema::Position> last_position_;
  std::atomic<bool> disk_failed_ = false;
  std::mutex mutex_;
  std::condition_variable wake_;
  std::deque<Job> jobs_;
  bool stopping_ = false;
  std::thread thread_;  // last: starts when everything above exists
};

}  // namespace endgate::daemon
