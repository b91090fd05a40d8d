#include "daemon/line/record_thread.h"

#include <utility>

namespace endgate::daemon {

RecordThread::RecordThread(const std::filesystem::path& store_folder, TellStray stray)
    : stray_(std::move(stray)),
      writer_(store_folder),
      last_position_(writer_.last_position()),
      thread_([this] { run(); }) {}

RecordThread::~RecordThread() { finish(); }

void RecordThread::finish() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_one();
  if (thread_.joinable()) thread_.join();
}

bool RecordThread::post(Job job, Carries what) {
  const std::size_t most = kEntries + (what == Carries::result ? kReservedForResults : 0);
  {
    const std::lock_guard lock(mutex_);
    if (stopping_ || jobs_.size() >= most) return false;
    jobs_.push_back(std::move(job));
  }
  wake_.notify_one();
  return true;
}

void RecordThread::run() {
  for (;;) {
    Job job;
    {
      std::unique_lock lock(mutex_);
      wake_.wait(lock, [this] { return stopping_ || !jobs_.empty(); });
      if (jobs_.empty()) return;
      job = std::move(jobs_.front());
      jobs_.pop_front();
    }
    run_guarded(stray_, [&] { job(writer_); });
    last_position_ = writer_.last_position();
    disk_failed_ = writer_.disk_failed();
  }
}

}  // namespace endgate::daemon
