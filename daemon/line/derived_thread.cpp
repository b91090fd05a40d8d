#include "daemon/line/derived_thread.h"

#include <sys/resource.h>

#include <utility>

#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kRecordsAtOnce = 256;
constexpr std::chrono::milliseconds kBetweenPortions{20}, kAfterAFault{60'000};

// Of this thread alone: that is what Linux counts by.
void become_least_important() { setpriority(PRIO_PROCESS, 0, 19); }

}  // namespace

DerivedThread::DerivedThread(std::filesystem::path store_folder,
                             std::chrono::milliseconds look_every)
    : folder_(std::move(store_folder)), look_every_(look_every), thread_([this] { run(); }) {}

DerivedThread::~DerivedThread() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_one();
  thread_.join();
}

DerivedThread::State DerivedThread::state() const {
  const std::lock_guard lock(mutex_);
  return state_;
}

void DerivedThread::note(State state) {
  const std::lock_guard lock(mutex_);
  state_ = std::move(state);
}

void DerivedThread::note_fault(const std::string& what) {
  note({.fault = what});
  log_warning("Trends are answered from the records, slower: " + what);
}

bool DerivedThread::rest(std::chrono::milliseconds time) {
  std::unique_lock lock(mutex_);
  return !wake_.wait_for(lock, time, [this] { return stopping_; });
}

void DerivedThread::run() {
  become_least_important();
  bool damaged = false;
  do {
    try {
      if (damaged) schema::delete_trend_file(folder_);
      damaged = false;
      catch_up();
    } catch (const schema::StoreFault& fault) {
      damaged = fault.kind() == schema::StoreFault::Kind::damaged;
      note_fault(fault.what());
    } catch (const std::exception& stray) {  // nobody waits for this thread: no test ends for it
      note_fault(stray.what());
    }
  } while (rest(state().fault.empty() ? look_every_ : kAfterAFault));
}

// Until it is time to end, or a fault.
void DerivedThread::catch_up() {
  const schema::StoreReader truth(folder_);
  schema::TrendWriter derived(folder_);
  for (;;) {
    const auto progress = derived.catch_up(truth, kRecordsAtOnce);
    note({.position = progress.position, .last_position = progress.last_position});
    if (!rest(progress.done() ? look_every_ : kBetweenPortions)) return;
  }
}

}  // namespace endgate::daemon
