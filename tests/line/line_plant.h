// A whole plant on loopback: the simulated bench behind its real wire, the service behind it.

#pragma once

#include <gtest/gtest.h>

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <filesystem>
#include <fstream>
#include <future>
#include <iterator>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "daemon/line/accept_text.h"
#include "daemon/line/line_service.h"
#include "fixtures/bench/physics/population.h"
#include "schema/store.h"
#include "tests/simbench_server/loopback_bench.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {

namespace fs = std::filesystem;
using namespace std::chrono_literals;

inline std::string text_in(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

inline void put_text(const fs::path& path, const std::string& text) {
  std::ofstream(path, std::ios::binary) << text;
}

inline void replace_value(const fs::path& path, const std::string& key, const std::string& value) {
  std::string text = text_in(path);
  const std::size_t at = text.find("\n" + key + " = ");
  ASSERT_NE(at, std::string::npos) << key << " in " << path;
  const std::size_t begin = at + key.size() + 4;
  text.replace(begin, text.find('\n', begin) - begin, value);
  put_text(path, text);
}

// The invented plant with one bench, which runs `rate` times faster than the wall.
inline void write_config(const fs::path& folder, std::uint16_t bench_port, int rate) {
  fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario", folder, fs::copy_options::recursive);
  fs::remove(folder / "benches/south.toml");
  fs::remove(folder / "calibrations/south.toml");
  replace_value(folder / "benches/north.toml", "port", std::to_string(bench_port));
  replace_value(folder / "benches/north.toml", "declared_rate", std::to_string(rate));
}

// The benches stand in the air of a room: a humidity of 0 would read as a dead sensor.
inline simbench::InstrumentsOptions in_a_room() {
  simbench::InstrumentsOptions options;
  options.room.relative_humidity = 0.45;
  return options;
}

// What a person does once for every file.
inline void accept_all(const fs::path& config, const fs::path& data) {
  fs::create_directories(data);
  schema::StoreWriter writer(data);
  for (const auto& entry : fs::recursive_directory_iterator(config)) {
    if (entry.path().extension() != ".toml" || entry.path().filename() == "service.toml") continue;
    const auto answer = daemon::accept_text(
        writer, data, {entry.path().filename().string(), text_in(entry.path()), "test", "set-up"});
    const auto* refusal = std::get_if<daemon::CommandRefusal>(&answer);
    ASSERT_FALSE(refusal) << entry.path() << ": " << (refusal ? refusal->sentence : "");
  }
}

class LinePlant : public ::testing::Test {
 protected:
  static constexpr int kRate = 12;

  explicit LinePlant(const simbench::InstrumentsOptions& options = in_a_room())
      : bench_(kRate, options) {}

  void SetUp() override {
    write_config(folder_.path() / "config", bench_.port(), kRate);
    edit_config();
    accept_all(folder_.path() / "config", data());
    open();
  }
  void TearDown() override { close(); }
  virtual void edit_config() {}  // before the files are accepted

  [[nodiscard]] fs::path data() const { return folder_.path() / "data"; }
  [[nodiscard]] fs::path config() const { return folder_.path() / "config"; }

  void open() {
    daemon::ServiceDefinition service;
    service.data_directory = data();
    service.upkeep = upkeep_;
    service_ =
        std::make_unique<daemon::LineService>(service, config(), [this] { has_failed_ = true; });
    listener_ = service_->subscribe([this](const daemon::LineState& state) { heard(state); });
    service_->wait_for_benches(30s);  // against hanging only
  }
  void close() {
    if (service_) service_->unsubscribe(listener_);
    service_.reset();
  }

  // Ask and wait for the answer, as the page does.
  daemon::CommandAnswer scan(const std::string& serial) {
    std::promise<daemon::CommandAnswer> answer;
    service_->scan({"north", serial, "48-B2", "test"},
                   [&](daemon::CommandAnswer got) { answer.set_value(std::move(got)); });
    return answer.get_future().get();
  }
  daemon::CommandAnswer start(const std::string& reason = "") {
    std::promise<daemon::CommandAnswer> answer;
    service_->start({"north", reason},
                    [&](daemon::CommandAnswer got) { answer.set_value(std::move(got)); });
    return answer.get_future().get();
  }
  daemon::CommandAnswer clear(const std::string& who = "test") {
    std::promise<daemon::CommandAnswer> answer;
    service_->clear("north", who,
                    [&](daemon::CommandAnswer got) { answer.set_value(std::move(got)); });
    return answer.get_future().get();
  }
  void clamp(const std::string& unit) {
    ASSERT_EQ(simbench::RawLink(bench_.control_port()).ask("clamp " + unit), "ok") << unit;
  }
  void hand(const std::string& line) {
    ASSERT_EQ(simbench::RawLink(bench_.control_port()).ask(line), "ok") << line;
  }
  void begin(const std::string& serial, const std::string& fault = "") {
    clamp(serial + fault);
    const auto scanned = scan(serial);
    ASSERT_TRUE(std::holds_alternative<daemon::LineState>(scanned)) << say(scanned);
    const auto started = start();
    ASSERT_TRUE(std::holds_alternative<daemon::LineState>(started)) << say(started);
  }
  static std::string say(const daemon::CommandAnswer& answer) {
    const auto* refusal = std::get_if<daemon::CommandRefusal>(&answer);
    return refusal != nullptr ? refusal->code + " " + refusal->sentence : "";
  }

  // The first state that `wanted` accepts; fails the test after a minute.
  template <class Wanted>
  daemon::LineState wait_for(Wanted wanted) {
    std::unique_lock lock(mutex_);
    const bool came = changed_.wait_for(lock, 60s, [&] { return newest_ && wanted(*newest_); });
    EXPECT_TRUE(came) << "phase " << (newest_ ? static_cast<int>(newest_->phase) : -1) << " "
                      << (newest_ ? newest_->message : "");
    return newest_.value_or(daemon::LineState{});
  }
  daemon::LineState wait_for_verdict() {
    return wait_for(
        [](const daemon::LineState& state) { return state.phase == daemon::LinePhase::verdict; });
  }
  void wait_for_step(const std::string& id) {
    wait_for([&](const daemon::LineState& state) {
      for (const daemon::RailStep& step : state.rail)
        if (step.id == id) return step.mark == daemon::RailStep::Mark::now;
      return false;
    });
  }

  // Called on the service's threads; tests may add their own look at each state.
  std::function<void(const daemon::LineState&)> look_;

  std::atomic<bool> has_failed_ = false;  // the service wants to be ended
  daemon::UpkeepPolicy upkeep_;
  TemporaryFolder folder_;
  simbench::ServedBench bench_;
  std::unique_ptr<daemon::LineService> service_;

 private:
  void heard(const daemon::LineState& state) {
    const std::lock_guard lock(mutex_);
    if (look_) look_(state);
    newest_ = state;
    changed_.notify_all();
  }

  std::uint64_t listener_ = 0;
  std::mutex mutex_;
  std::condition_variable changed_;
  std::optional<daemon::LineState> newest_;
};

// Running numbers below 1000 are model P1-60-12.
inline std::string serial(int number) { return simbench::make_serial("2648", number); }

}  // namespace endgate::test
