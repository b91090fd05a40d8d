// The running service without its web side: stations, store, threads.
//
//   I/O thread    every Station and Bench; never waits
//   record thread the one writing connection
//   derived       the writing connection of trend.db, at the lowest priority
//   pool          advice and evaluation
//   question pool what people ask of the store; a slow question delays no test
//
// Threading: as application.h says.  Snapshots of line states are copied under a short lock.

#pragma once

#include <atomic>
#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <filesystem>
#include <map>
#include <memory>
#include <mutex>
#include <set>
#include <thread>

#include "daemon/definitions/service_definition.h"
#include "daemon/line/application.h"
#include "daemon/line/configuration.h"
#include "daemon/line/derived_thread.h"
#include "daemon/line/heartbeat.h"
#include "daemon/line/latched_alarms.h"
#include "daemon/line/record_thread.h"

namespace endgate::daemon {

class AlarmKeeper;
class Station;

class LineService : public Application {
 public:
  // Opens the store (schema::StoreFault when it cannot), keeps every test that was broken off by
  // the end of an earlier daemon as void, then connects the benches.  All that may take long, or for
  // ever on a sick disk: who wants motors off meanwhile keeps them off (off_keeper.h).
  // `failed`: an exception that nobody awaited ended what this service can promise.  Motors are
  // ordered off already; let it end.  From any thread, more than once.
  // `benches_are_mine`: called once, on the calling thread, just before the benches are connected.
  LineService(
      const ServiceDefinition& service, std::filesystem::path config_folder,
      std::function<void()> failed = [] {}, const std::function<void()>& benches_are_mine = [] {});
  ~LineService() override;  // motor off and read back on every bench, results kept, threads joined

  // Calls `alive` once a period while I/O, record thread, pool and what serves the pages all turn
  // (heartbeat.h).
  void watch(std::chrono::milliseconds period, std::function<void()> alive,
             Heartbeat::Ask on_pages);
  // An exception nobody awaited, on any thread: motors off, and the service ends.
  void on_stray(const std::string& what);

  // Until every bench has answered or the time is over: motor off goes out before any page.
  void wait_for_benches(std::chrono::milliseconds at_most);

  [[nodiscard]] std::vector<std::string> benches() const override;
  [[nodiscard]] std::optional<LineState> line(const std::string& bench) const override;
  void scan(ScanCommand command, std::function<void(CommandAnswer)> done) override;
  void start(StartCommand command, std::function<void(CommandAnswer)> done) override;
  void stop(const std::string& bench, const std::string& who) override;
  void clear(const std::string& bench, const std::string& who,
             std::function<void(CommandAnswer)> done) override;
  void take_bench(TakeCommand command, std::function<void(Entered)> done) override;
  void accept(AcceptCommand command,
              std::function<void(std::variant<Accepted, CommandRefusal>)> done) override;
  void enter(MakeFact make, std::function<void(Entered)> done) override;
  std::uint64_t subscribe(Listener listener) override;
  void unsubscribe(std::uint64_t id) override;
  [[nodiscard]] bool on_pool(std::function<void()> work) override;
  [[nodiscard]] std::string store_folder() const override;
  [[nodiscard]] UpkeepPolicy upkeep() const override { return upkeep_; }
  [[nodiscard]] std::vector<int> shift_begins_min() const override { return shift_begins_min_; }
  [[nodiscard]] Health health() const override;

 private:
  using StationCall = std::function<void(Station&)>;

  void keep_broken_off_tests();
  void reread_configuration();
  [[nodiscard]] Entered put_in_force(const Accepted& accepted);
  [[nodiscard]] std::shared_ptr<const Configuration> newest_configuration() const;
  void make_stations();
  void open_station(const std::string& bench, const LineState* before, LatchedAlarms latched,
                    std::shared_ptr<AlarmKeeper> alarms = nullptr);
  void replace_station(const std::string& bench);
  void changed(const LineState& state);
  // Runs `call` on the I/O thread; unknown bench answers 404.
  void on_station(const std::string& bench, StationCall call,
                  const std::function<void(CommandAnswer)>& done);
  void shut_benches_down();

  std::filesystem::path config_folder_;
  std::filesystem::path store_folder_;
  UpkeepPolicy upkeep_;
  std::vector<int> shift_begins_min_;
  std::function<void()> failed_;
  boost::asio::io_context io_;
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work_;
  RecordThread records_;
  DerivedThread derived_;
  boost::asio::thread_pool pool_, question_pool_;
  std::atomic<int> questions_ = 0;
  std::unique_ptr<Heartbeat> heartbeat_;
  // I/O thread only:
  std::map<std::string, std::shared_ptr<Station>> stations_;
  std::set<std::string> outdated_;  // a test runs by what was accepted before
  std::set<std::string> being_replaced_;
  // Benches whose motor did not obey an earlier service; whose unit it did not see vented.
  std::set<std::string> motor_alarms_, pressure_alarms_;
  bool closing_ = false;

  mutable std::mutex mutex_;  // guards what follows; held for copies only
  std::shared_ptr<const Configuration> configuration_;
  std::map<std::string, LineState> states_;
  std::map<std::uint64_t, Listener> listeners_;
  std::uint64_t next_listener_ = 1;

  std::thread io_thread_;
};

}  // namespace endgate::daemon
