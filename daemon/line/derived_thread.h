// Who keeps trend.db beside truth?  A thread of its own that nobody waits for.
//
// It runs at the lowest priority, takes over a few hundred records at a time and rests between, so
// that a test never meets it.  When it fails, trends are answered from truth, only slower: it lets
// go of the file, deletes it if it is damaged, and tries again.

#pragma once

#include <chrono>
#include <condition_variable>
#include <filesystem>
#include <mutex>
#include <string>
#include <thread>

#include "schema/store.h"
#include "schema/trend_file.h"

namespace endgate::daemon {

class DerivedThread {
 public:
  explicit DerivedThread(std::filesystem::path store_folder,
                         std::chrono::milliseconds look_every = std::chrono::seconds(5));
  ~DerivedThread();
  DerivedThread(const DerivedThread&) = delete;
  DerivedThread& operator=(const DerivedThread&) = delete;

  struct State {
    schema::Position position = 0, last_position = 0;
    std::string fault{};  // of the last round; empty: none
  };
  [[nodiscard]] State state() const;

 private:
  void run();
  void catch_up();
  void note(State state);
  void note_fault(const std::string& what);
  // False: it is time to end.
  [[nodiscard]] bool rest(std::chrono::milliseconds time);

  std::filesystem::path folder_;
  std::chrono::milliseconds look_every_;
  mutable std::mutex mutex_;
  std::condition_variable wake_;
  State state_;
  bool stopping_ = false;
  std::thread thread_;  // last: starts when everything above exists
};

}  // namespace endgate::daemon
