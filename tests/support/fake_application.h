// An application without benches: states are set by the test, commands are written down.

#pragma once

#include <atomic>
#include <chrono>
#include <map>
#include <mutex>
#include <string>
#include <thread>
#include <utility>
#include <vector>

#include "daemon/line/application.h"
#include "schema/store.h"

namespace endgate::test {

class FakeApplication : public daemon::Application {
 public:
  explicit FakeApplication(std::string store_folder = "") : folder_(std::move(store_folder)) {}

  void set(daemon::LineState line) {
    std::vector<Listener> listeners;
    {
      const std::lock_guard lock(mutex_);
      if (!lines_.contains(line.bench)) order_.push_back(line.bench);
      line.version = ++version_;
      lines_[line.bench] = line;
      for (const auto& [id, listener] : listeners_) listeners.push_back(listener);
    }
    for (const Listener& listener : listeners) listener(line);
  }
  std::vector<std::string> commands() {
    const std::lock_guard lock(mutex_);
    return commands_;
  }
  void never_answer() { answering_ = false; }
  void begin_shifts_at(std::vector<int> minutes) { shift_begins_ = std::move(minutes); }
  std::vector<int> shift_begins_min() const override { return shift_begins_; }

  std::vector<std::string> benches() const override {
    const std::lock_guard lock(mutex_);
    return order_;
  }
  std::optional<daemon::LineState> line(const std::string& bench) const override {
    const std::lock_guard lock(mutex_);
    const auto found = lines_.find(bench);
    return found == lines_.end() ? std::nullopt : std::optional(found->second);
  }
  void scan(daemon::ScanCommand command, std::function<void(daemon::CommandAnswer)> done) override {
    note("scan " + command.bench + " " + command.text + " " + command.batch + " " +
         command.operator_name);
    if (command.text == "bad")
      return done(daemon::CommandRefusal{409, "U-101", "Read \"bad\". Scan again."});
    answer(command.bench, done);
  }
  void start(daemon::StartCommand command,
             std::function<void(daemon::CommandAnswer)> done) override {
    note("start " + command.bench + " " + command.reason);
    answer(command.bench, done);
  }
  void stop(const std::string& bench, const std::string& who) override {
    note("stop " + bench + " " + who);
  }
  void clear(const std::string& bench, const std::string& who,
             std::function<void(daemon::CommandAnswer)> done) override {
    note("clear " + bench + " " + who);
    answer(bench, done);
  }
  void take_bench(TakeCommand command, std::function<void(Entered)> done) override {
    note("take " + command.bench + " " + command.by + ": " + command.why);
    done(Accepted{"bench " + command.bench});
  }
  void accept(AcceptCommand command,
              std::function<void(std::variant<Accepted, daemon::CommandRefusal>)> done) override {
    note("accept " + command.file_name + " " + command.by);
    done(Accepted{"limits P1-60-12@2"});
  }
  void enter(MakeFact make, std::function<void(Entered)> done) override {
    note("enter");
    schema::StoreWriter writer(folder_);
    done(make(writer));
  }
  std::uint64_t subscribe(Listener listener) override {
    const std::lock_guard lock(mutex_);
    listeners_[++subscriptions_] = std::move(listener);
    return subscriptions_;
  }
  void unsubscribe(std::uint64_t id) override {
    const std::lock_guard lock(mutex_);
    listeners_.erase(id);
  }
  // At once; or held until answer_questions(), of which at most `kMostHeld` wait.
  bool on_pool(std::function<void()> work) override {
    if (!holding_) {
      work();
      return true;
    }
    const std::lock_guard lock(mutex_);
    if (held_.size() >= kMostHeld) return false;
    held_.push_back(std::move(work));
    return true;
  }
  static constexpr std::size_t kMostHeld = 1;
  void hold_questions() { holding_ = true; }
  [[nodiscard]] std::size_t held_questions() {
    const std::lock_guard lock(mutex_);
    return held_.size();
  }
  void answer_questions() {
    std::vector<std::function<void()>> waiting;
    {
      const std::lock_guard lock(mutex_);
      waiting.swap(held_);
    }
    for (const auto& work : waiting) work();
  }
  [[nodiscard]] std::chrono::milliseconds longest_question() const override { return longest_; }
  void answer_questions_within(std::chrono::milliseconds longest) { longest_ = longest; }
  std::string store_folder() const override { return folder_; }
  Health health() const override { return health_; }

  Health health_;

 private:
  void note(std::string command) {
    const std::lock_guard lock(mutex_);
    commands_.push_back(std::move(command));
  }
  void answer(const std::string& bench, const std::function<void(daemon::CommandAnswer)>& done) {
    if (answering_) done(*line(bench));
  }

  std::vector<int> shift_begins_{};
  std::string folder_;
  mutable std::mutex mutex_;
  std::map<std::string, daemon::LineState> lines_;
  std::vector<std::string> order_, commands_;
  std::map<std::uint64_t, Listener> listeners_;
  std::uint64_t subscriptions_ = 0, version_ = 0;
  bool answering_ = true;
  std::vector<std::function<void()>> held_;
  std::atomic<bool> holding_ = false;
  std::chrono::milliseconds longest_ = daemon::kLongestQuestion;
};

}  // namespace endgate::test
