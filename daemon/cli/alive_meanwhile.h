// Tells a watchdog that a start is under way which may take longer than the watchdog waits; but not
// for ever: a start that hangs is to be ended by the watchdog like anything else that hangs.
//
// Tells from a thread of its own, from the construction to the destruction or until `at_most` is over,
// whichever comes first.

#pragma once

#include <chrono>
#include <condition_variable>
#include <functional>
#include <mutex>
#include <thread>
#include <utility>

namespace endgate::daemon {

class AliveMeanwhile {
 public:
  using Milliseconds = std::chrono::milliseconds;

  // `every` 0: nobody waits for it.
  AliveMeanwhile(Milliseconds every, Milliseconds at_most, std::function<void()> tell)
      : every_(every), left_(every.count() > 0 ? at_most / every : 0), tell_(std::move(tell)) {
    if (left_ > 0) thread_ = std::jthread([this](const std::stop_token& end) { run(end); });
  }

 private:
  void run(const std::stop_token& end) {
    std::mutex mutex;
    std::unique_lock lock(mutex);
    std::condition_variable_any wake;
    while (left_-- > 0) {
      wake.wait_for(lock, end, every_, [] { return false; });
      if (end.stop_requested()) return;
      tell_();
    }
  }

  Milliseconds every_;
  Milliseconds::rep left_;
  std::function<void()> tell_;
  std::jthread thread_;  // last: starts when everything above exists
};

}  // namespace endgate::daemon
