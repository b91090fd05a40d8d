// What happens to a unit on one bench, from the scan to the kept verdict?
//
//   free --scan--> ready | again | refused
//   ready, again --start: start fact durable--> running
//   running --bench finished--> storing --trace, record durable--> verdict --scan--> ...
//   any --bench or storage at fault--> out_of_use ;  motor does not obey --> press_stop
//   out_of_use, press_stop --clear--> a result that waits is kept, then verdict, else free
//
// A verdict is shown only after its record is durable.  Every failure of storage ends in
// out_of_use, never in a verdict; a result that the store refused waits (running_test.h).
//
// Threading: every member runs on the I/O thread; store reads and the evaluation run on the pool,
// writes on the record thread, and their answers come back to the I/O thread.

#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "daemon/bench/advice_queue.h"
#include "daemon/bench/bench.h"
#include "daemon/line/alarm_keeper.h"
#include "daemon/line/application.h"
#include "daemon/line/configuration.h"
#include "daemon/line/latched_alarms.h"
#include "daemon/line/station_tools.h"

namespace endgate::daemon {

class RunningTest;
struct UnitOnBench;
struct UpkeepNotice;
struct CommittedStart;
struct ReasonAsked;
struct LeftBehind;

class Station : public std::enable_shared_from_this<Station> {
 public:
  Station(StationTools tools, std::string bench);

  // Builds the bench and connects; or says why the bench is not ready.  `before`: of the station
  // it replaces, whose last verdict stays on the page.
  // `latched`: by an earlier service or station.
  // `alarms`: of the station it replaces; what it could not keep yet is ended here.
  void open(const LineState* before, LatchedAlarms latched,
            std::shared_ptr<AlarmKeeper> alarms = nullptr);
  void scan(const ScanCommand& command, std::function<void(CommandAnswer)> done);
  void start(const StartCommand& command, std::function<void(CommandAnswer)> done);
  void stop(const std::string& who);
  void clear(const std::string& who, std::function<void(CommandAnswer)> done);
  void take_bench(const Application::TakeCommand& command,
                  std::function<void(Application::Entered)> done);
  void shut_down(std::function<void()> done);

  [[nodiscard]] const LineState& state() const { return state_; }
  // The accepted bench file or calibration is not the one this station works with.
  [[nodiscard]] bool outdated(const Configuration& configuration) const;
  // No test runs and none is being kept: it may be replaced.
  [[nodiscard]] bool idle() const { return !busy_; }
  [[nodiscard]] LatchedAlarms latched() const { return latched_; }
  [[nodiscard]] const std::shared_ptr<AlarmKeeper>& alarms() const { return alarms_; }
  // Idle, and nothing is latched that a person has to look at first.
  [[nodiscard]] bool replaceable() const;
  // It gave its bench back and another one stands in its place: it says nothing more.
  void retire() { retired_ = true; }

 private:
  using Answer = std::function<void(CommandAnswer)>;

  [[nodiscard]] BenchEvents events_for_bench();
  void take_over(const LineState& before);
  void take_alarms(std::shared_ptr<AlarmKeeper> alarms);
  [[nodiscard]] bool out_of_use() const;  // for whatever reason
  void publish();
  void show_fault(LinePhase phase, const std::string& code, const std::string& message);
  void storage_fault(const std::string& what, const std::string& next = "");
  // What is due on the bench: told as notices, refused when it blocks.  True: the unit may not be
  // judged here now.
  bool upkeep_blocks(const std::vector<UpkeepNotice>& due);
  void show_check(schema::Position record, const schema::BenchCheck& check);
  void answer_state(const Answer& done);
  void refuse(const Answer& done, const std::string& code, const std::string& sentence);

  void scan_code(const std::string& code, const Answer& done);
  void choose_reason(std::size_t number, const Answer& done);
  // On the pool, what the store knows of the unit and of the bench.
  void read_about(const std::shared_ptr<UnitOnBench>& unit, const Answer& done);
  void identified(std::shared_ptr<UnitOnBench> unit, const Answer& done);
  void show_unit();
  void show_sequence();
  void ask_for_reason(const ReasonAsked& asked);
  void forget_unit();
  // Free; or the void of a unit that the end of the service left here, until the next scan.
  void become_free();
  void look_for_left_behind();
  void take_left_behind(std::shared_ptr<const LeftBehind> left);

  void keep_start(const Answer& done);
  void start_committed(const CommittedStart& committed, const Answer& done);
  void run(schema::Position start_position);
  void never_ran(analysis::BreakOff cause, const std::string& why);
  void on_live(const BenchLive& live);
  void follow_condition(const BenchLive& live);
  void follow_pressure(const BenchLive& live);
  void on_step(const std::optional<StepProgress>& before, const std::optional<double>& flow_before);
  void say_turn(const StepProgress& step);
  void on_alarm(const std::string& code, const std::string& text);
  void tell_of_store(const std::string& code, const std::string& text);
  void on_look(analysis::StepSums sums);
  void on_piece(analysis::RawTrace piece);
  void on_finished(FinishedTest test);
  [[nodiscard]] std::shared_ptr<RunningTest> new_test();
  [[nodiscard]] std::function<void(schema::StoreWriter&, schema::Position)> bench_keeper();
  void show_verdict(LineResult result);
  void show_not_kept(const schema::StoreFault& fault);
  void keep_again(const Answer& done);

  StationTools tools_;
  std::string bench_id_;
  std::unique_ptr<Bench> bench_;
  AdviceQueue advice_;
  std::pair<int, int> versions_{0, 0};  // of bench file and calibration; 0: none accepted
  LineState state_;
  bool busy_ = false;       // from the start command until its record is kept or refused
  std::string stopped_by_;  // who pressed stop since the start command
  bool retired_ = false;
  LatchedAlarms latched_;
  std::shared_ptr<AlarmKeeper> alarms_;
  std::optional<std::pair<std::string, std::string>> told_by_store_;  // while a test ran
  bool out_of_contact_ = false;                    // out_of_use only until the bench is heard again
  std::uint64_t scan_number_ = 0;                  // answers to an older scan are dropped
  std::shared_ptr<const LeftBehind> left_behind_;  // until a scan or Cancel
  std::shared_ptr<UnitOnBench> unit_;
  std::shared_ptr<RunningTest> test_;  // of `unit_`, until its record is kept
};

}  // namespace endgate::daemon
