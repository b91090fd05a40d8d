// One bench: its links, poll plan, lease, safety, and the test that runs on it.
//
// Lives on the I/O thread's io_context and never waits.  Safety (over-limits, silence, cover,
// emergency stop, a relay that does not obey) is checked on every frame and on the steady clock,
// whatever the sequence thinks.  The lease is renewed only while everything is healthy.  The first
// thing a bench does after connecting is to send motor off and read it back.
//
// Threading: all members are called on the I/O thread; callbacks come on it too.

#pragma once

#include <boost/asio/io_context.hpp>
#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/raw_trace.h"
#include "daemon/bench/finished_test.h"
#include "daemon/bench/life_watch.h"
#include "daemon/bench/sequence.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/model_definition.h"

namespace endgate::daemon {

enum class BenchCondition {
  connecting,     // no contact, or motor off not yet read back
  ready,          // motor off read back, every channel heard
  running,        // a test runs or the bench is being made safe after one
  motor_unknown,  // off was sent and is not read back, or current still flows: latched
};

struct LiveValue {
  analysis::Role role;
  std::optional<double> value_si;  // absent: no good sample
  double age_s = 0;                // of the last good sample, steady clock
  int decimals = 1;
};

// Newest state for the page; sent at most 10 times a second, or when the condition or step changes.
struct BenchLive {
  std::string bench;
  BenchCondition condition = BenchCondition::connecting;
  std::string condition_text;  // what is wrong and what to do, empty when nothing is
  std::string condition_code;  // "B-101"
  std::vector<LiveValue> values;
  Interlocks interlocks;
  std::optional<StepProgress> step;  // while running
  bool making_safe = false;          // the test was ended early: motor off was sent, it is vented
  // No test runs, and the unit was not seen vented since the last one: pressure_watch.h.
  bool may_be_under_pressure = false;
  double test_seconds = 0;  // bench seconds since the start command
};

// Why a start is not possible just now; names the one thing that is missing.
struct StartRefusal {
  std::string code;
  std::string sentence;
};

struct BenchEvents {
  std::function<void(const BenchLive&)> live;
  std::function<void(FinishedTest)> finished;  // motor off and vented, or given up on and latched
  // A hold could end: ask analysis::advise and call Bench::on_advice; may be left unanswered.
  std::function<void(analysis::StepSums)> look;
  std::function<void(const std::string& code, const std::string& text)> alarm;
  // The next piece of the trace of a long run; the bench holds it no longer.
  std::function<void(analysis::RawTrace)> piece{};
};

class Bench {
 public:
  Bench(boost::asio::io_context& io, BenchDefinition definition,
        std::vector<analysis::ChannelCalibration> calibrations, BenchEvents events);
  ~Bench();

  void connect();  // starts polling; reconnects by itself for ever
  [[nodiscard]] std::optional<StartRefusal> start_refused(const ModelDefinition& model) const;
  // `start_refused` must be empty.  The caller has already committed the start fact.
  void start(const ModelDefinition& model, const TrialPlan& plan = {});
  void on_advice(const analysis::Advice& advice);
  void stop(const std::string& who);  // by a person, any time
  // False: off is not read back just now, so the alarm stays.  True as well when there is none.
  [[nodiscard]] bool clear_motor_alarm(const std::string& who);
  // A person says that the service which holds this bench is gone for good: its owner word is given
  // free, and the bench is claimed as any free one.  Refused while that service shows life (a live
  // lease, a motor that runs) within kNoSignOfLife, or when nothing of the kind can be heard.  A
  // service that lives but tests nothing shows no life: it loses the bench at its next question.
  static constexpr std::chrono::seconds kNoSignOfLife = LifeWatch::kNoSignOfLife;
  [[nodiscard]] std::optional<StartRefusal> takeover_refused() const;
  // `done`, also from inside the call: why not, or nothing when the device took the word.
  using TakenOver = std::function<void(const std::optional<StartRefusal>&)>;
  void take_over(const std::string& who, TakenOver done);
  // As a person left it: the alarm of an earlier service holds until it is cleared.
  void latch_motor_alarm();
  // A person says that the unit is vented; and what an earlier service left (before connect()).
  void clear_pressure(const std::string& who);
  void latch_pressure();
  // Motor off, read back (or given up after a deadline), links closed; then `done`.
  void shut_down(std::function<void()> done);
  [[nodiscard]] const BenchLive& live() const;
  [[nodiscard]] bool motor_is_off() const;  // ordered and read back
  // By the owner word as last read: whether the motor runs is the business of another service.
  [[nodiscard]] bool is_held_by_other() const;

 private:
  struct Impl;
  std::shared_ptr<Impl> impl_;
};

}  // namespace endgate::daemon
