// The parts of one running bench and who calls whom.  Private to daemon/bench/bench*.cpp.
//
//   timer --tick--> poller, lease, off-watch, live feed            bench.cpp
//   links --opened/closed--> off first, safe values, commands      bench_contact.cpp
//   owner word --> ours, another's, lost                           bench_owner.cpp
//   poller --answered--> frame --> off-watch, test run             bench_round.cpp
//   poller, links --part, block--> over-limits, interlocks         bench_round.cpp
//   all --> condition, live values                                 bench_live.cpp

#pragma once

#include <boost/asio/steady_timer.hpp>
#include <memory>
#include <string>
#include <vector>

#include "daemon/bench/bench.h"
#include "daemon/bench/frame_maker.h"
#include "daemon/bench/life_watch.h"
#include "daemon/bench/off_watch.h"
#include "daemon/bench/owner_claim.h"
#include "daemon/bench/poller.h"
#include "daemon/bench/pressure_watch.h"
#include "daemon/bench/status_watch.h"
#include "daemon/bench/test_run.h"
#include "daemon/links/link.h"

namespace endgate::daemon {

struct Bench::Impl : std::enable_shared_from_this<Bench::Impl> {
  using Clock = std::chrono::steady_clock;
  using Steady = Clock::time_point;

  Impl(boost::asio::io_context& io_given, BenchDefinition definition,
       std::vector<analysis::ChannelCalibration> calibrations_given, BenchEvents events_given);

  // bench.cpp
  void run_timer();
  void on_tick(Steady now);
  void renew_lease(Steady now);
  std::optional<StartRefusal> start_refused(const ModelDefinition& model) const;
  void start(const ModelDefinition& model, const TrialPlan& plan);
  bool clear_motor_alarm(const std::string& name);
  void latch_motor_alarm();
  void clear_pressure(const std::string& name);
  void shut_down(std::function<void()> done);
  void continue_shut_down(Steady now);
  void close();

  // bench_contact.cpp
  void open_links();
  void on_opened(std::size_t device);
  void on_closed(std::size_t device, const LinkError& why);
  bool all_open() const;
  void order_off();
  void send_off();
  void on_off_answered(const std::optional<LinkError>& error);
  bool may_repeat_off() const;
  void carry_out(const std::vector<ActuatorCommand>& commands);
  void send(const ActuatorCommand& command);
  void on_write_failed(const std::string& actuator, const LinkError& why);

  // bench_owner.cpp
  void watch_owner(Steady now);
  void on_owner_read(const std::vector<std::uint16_t>& words, Steady asked_at);
  void lose_bench();
  void doubt_ownership();
  void leave_bench(std::string why);
  void write_owner();
  void take_over(const std::string& who, TakenOver done);
  std::optional<StartRefusal> takeover_refused() const;
  void give_bench_back(std::function<void()> done);
  void write_free(const ActuatorDefinition& owner, std::function<void()> done);
  void claimed();
  // While no test of ours is being made safe on it.
  bool held_by_other() const { return claim.holder() && !run; }

  // bench_round.cpp
  void on_round(RoundAnswer answer);
  void on_part(const Part& part);
  void ask_for_advice();
  void hand_over_piece();
  void on_missed(const std::vector<std::size_t>& channels);
  void on_clock_fault(const std::string& fault);
  void break_off(analysis::BreakOff cause, const std::string& detail);
  void hand_over_if_finished();

  // bench_live.cpp
  struct Stated {
    BenchCondition condition = BenchCondition::connecting;
    std::string code, text;
  };
  Stated stated() const;
  void update_live(Steady now);
  void fill_values(Steady now);
  void raise(const std::string& code, const std::string& text);

  boost::asio::io_context& io;
  BenchDefinition bench;
  std::vector<analysis::ChannelCalibration> calibrations;
  BenchEvents events;
  boost::asio::steady_timer timer;
  Steady epoch{};  // of the poll ticks
  bool closed = false;

  std::vector<std::shared_ptr<Link>> links;  // by device
  std::unique_ptr<Poller> poller;
  FrameMaker maker;
  OffWatch off;
  int offs_under_way = 0;   // sent to the device and not answered yet
  std::string off_trouble;  // why it did not take the last one
  StatusWatch status;
  PressureWatch pressure;
  std::optional<Picture> newest;        // since the links are open
  std::vector<std::string> why_closed;  // by device; empty: open
  OwnerClaim claim;
  LifeWatch owner_life;  // of the service that holds it
  std::string claim_trouble, clock_trouble;

  std::unique_ptr<TestRun> run;
  Steady lease_due{};

  BenchLive live;
  Steady live_sent{};
  bool unknown_raised = false;

  bool leaving = false;  // from the first order to shut down
  std::function<void()> shut_down_done;
  Steady shut_down_by{};
};

[[nodiscard]] OwnerClaim claim_for(const BenchDefinition& bench);

}  // namespace endgate::daemon
