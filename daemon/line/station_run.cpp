// From the start fact to the kept verdict; see station.h.

#include <algorithm>
#include <boost/asio/post.hpp>
#include <utility>

#include "analysis/flow_state.h"
#include "daemon/line/commit_start.h"
#include "daemon/line/line_parts.h"
#include "daemon/line/running_test.h"
#include "daemon/line/station.h"
#include "daemon/line/station_unit.h"
#include "daemon/line/upkeep_facts.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/line/version.h"
#include "daemon/line/wall_clock.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

std::optional<double> value_of(const BenchLive& live, analysis::Role role) {
  for (const LiveValue& value : live.values)
    if (value.role == role) return value.value_si;
  return std::nullopt;
}

// What the meter reads, in litres of the state that the limits refer to.
double at_limits_m3_s(double metered_m3_s, const analysis::Context& context) {
  const analysis::BenchFacts& meter = context.bench;
  const analysis::ReferenceConditions& limits = context.model.reference;
  return analysis::in_litres_of(analysis::StandardFlow(metered_m3_s),
                                {.pressure_abs_pa = meter.meter_reference_pressure_pa,
                                 .temperature_k = meter.meter_reference_temperature_k},
                                {.pressure_abs_pa = limits.inlet_pressure_abs_pa,
                                 .temperature_k = limits.inlet_temperature_k})
      .si();
}

// Only what may pass is worth a second try; a disk that failed takes nothing until a new start.
std::string what_becomes_of_result(schema::StoreFault::Kind kind) {
  using Kind = schema::StoreFault::Kind;
  const std::string waits = "is not shown yet: it waits here. ";
  const std::string stay = " Do not end the service before.";
  switch (kind) {
    case Kind::io:
      return "cannot be kept any more: once the service was restarted it counts as broken off. "
             "Call plant IT, then test the unit again.";
    case Kind::full:
      return waits + "Make space on the disk, then press Clear." + stay;
    case Kind::busy:
    case Kind::out_of_time:
      return waits + "Press Clear in a minute to keep it again." + stay;
    case Kind::damaged:
    case Kind::wrong_version:
    case Kind::refused:
      break;
  }
  return "is not accepted by the store, and pressing Clear changes nothing. Call plant IT: only a "
         "new start of the service frees the bench, and the test then counts as broken off.";
}

}  // namespace

void Station::keep_start(const Answer& done) {
  unit_->start = {.serial = unit_->serial,
                  .attempt = unit_->history.last_attempt + 1,
                  .model = unit_->model.id,
                  .bench = bench_id_,
                  .batch = unit_->batch,
                  .purpose = unit_->purpose,
                  .reason = unit_->reason,
                  .operator_name = unit_->operator_name,
                  .at = wall_clock_now(),
                  .software = software_version()};
  busy_ = true;
  stopped_by_.clear();
  const auto self = shared_from_this();
  const bool queued = tools_.records.post([self, done](schema::StoreWriter& store) {
    const CommittedStart committed = commit_start(store, self->tools_, *self->unit_);
    boost::asio::post(self->tools_.io,
                      [self, done, committed] { self->start_committed(committed, done); });
  });
  if (queued) return;
  busy_ = false;
  refuse(done, "S-121", "The store is behind. Earlier tests are being kept. Start again shortly.");
}

void Station::start_committed(const CommittedStart& committed, const Answer& done) {
  if (!committed.fault.empty()) {
    storage_fault(committed.fault);
    return refuse(done, state_.code, state_.message);
  }
  if (upkeep_blocks(committed.upkeep)) {
    busy_ = false;
    return refuse(done, state_.code, state_.message);
  }
  if (committed.outdated) {
    busy_ = false;
    show_fault(LinePhase::refused, "U-114",
               unit_->serial +
                   " was tested elsewhere or has a new entry since it was scanned. Scan it again.");
    return refuse(done, state_.code, state_.message);
  }
  run(committed.position);
  answer_state(done);
}

void Station::run(schema::Position start_position) {
  unit_->start_position = start_position;
  state_.phase = LinePhase::running;
  state_.purpose = unit_->purpose;
  state_.retest_reason = unit_->reason;
  state_.attempt = unit_->start.attempt;
  state_.message.clear();
  state_.code.clear();
  state_.notices.clear();
  mark_rail(state_.rail, 0);
  test_ = new_test();
  if (!stopped_by_.empty())
    return never_ran(analysis::BreakOff::stopped_by_person, "stopped by " + stopped_by_);
  if (const auto lost = bench_->start_refused(unit_->model))
    return never_ran(analysis::BreakOff::not_started, "the test did not begin: " + lost->code);
  bench_->start(unit_->model, unit_->plan);
}

// Stop was pressed, the bench was lost or its cover opened while the start was being kept: that
// start gets its record like any other, void and without a sample.
void Station::never_ran(analysis::BreakOff cause, const std::string& why) {
  FinishedTest test;
  test.trace.break_off = cause;
  test.trace.break_off_detail = why;
  test.last_sample_at = std::chrono::steady_clock::now();
  on_finished(std::move(test));
}

void Station::on_live(const BenchLive& live) {
  const std::optional<StepProgress> before = state_.live.step;
  const std::optional<double> flow_before = value_of(state_.live, analysis::Role::flow);
  state_.live = live;
  if (state_.phase == LinePhase::running) on_step(before, flow_before);
  follow_condition(live);
  follow_pressure(live);
  publish();
}

// A motor that does not obey stays on the page until a person clears it; a bench that is not heard
// is out of use only until it is.
void Station::follow_condition(const BenchLive& live) {
  const bool may_be_away =
      out_of_contact_ || state_.phase == LinePhase::free || state_.phase == LinePhase::ready;
  if (live.condition == BenchCondition::motor_unknown) {
    if (!std::exchange(latched_.motor, true)) alarms_->open({kAlarmMotor, live.condition_text});
    out_of_contact_ = false;
    state_.phase = LinePhase::press_stop;
    state_.code = live.condition_code;
    state_.message = live.condition_text;
  } else if (live.condition == BenchCondition::connecting && idle() && may_be_away) {
    out_of_contact_ = true;
    state_.phase = LinePhase::out_of_use;
    state_.code = live.condition_code;
    state_.message = live.condition_text;
  } else if (live.condition == BenchCondition::ready && out_of_contact_) {
    out_of_contact_ = false;
    become_free();
  }
}

// It ends by itself, so the verdict or the free page stays beside it; the bench refuses a start.
void Station::follow_pressure(const BenchLive& live) {
  const bool stands = live.may_be_under_pressure;
  if (std::exchange(latched_.pressure, stands) == stands) return;
  if (stands)
    alarms_->open({kAlarmPressure, "The unit on bench " + bench_id_ +
                                       " may be under pressure: it was not seen vented."});
  else
    alarms_->close({kAlarmPressure, "endgate", "the receiver was seen vented"});
}

// The growing curve: the last flow seen in each hold, at the reference state of the limits but
// without the corrections of the evaluation; for the eye only.
void Station::on_step(const std::optional<StepProgress>& before,
                      const std::optional<double>& flow_before) {
  if (state_.expected_s > 0)
    state_.seconds_left = std::max(0.0, state_.expected_s - state_.live.test_seconds);
  if (not_heard(state_)) state_.seconds_left.reset();  // its clock is not heard either
  if (!state_.live.step) return;
  mark_rail(state_.rail, state_.live.step->index);
  if (!unit_->trial_name.empty()) return say_turn(*state_.live.step);
  if (!before || before->index == state_.live.step->index || !flow_before) return;
  const StepDefinition& ended = unit_->model.sequence.at(before->index);
  if (ended.kind == analysis::StepKind::hold)
    state_.so_far.push_back({ended.target_gauge_pa, at_limits_m3_s(*flow_before, unit_->context)});
}

// That a rest is no end is said by the page, from the step itself.
void Station::say_turn(const StepProgress& step) {
  state_.message = "Lab trial: " + unit_->trial_name + ".";
  if (step.turn > 0) state_.message += " Turn " + std::to_string(step.turn) + ".";
}

// What a person has to look at first stays on the page.
void Station::on_alarm(const std::string& code, const std::string& text) {
  if ((out_of_use() && !out_of_contact_) || !idle()) return;
  state_.code = code;
  state_.message = text;
  publish();
}

// A running test has the page to itself: what the store says then is shown with its verdict.
void Station::tell_of_store(const std::string& code, const std::string& text) {
  log_error("Bench " + bench_id_ + ", " + code + ": " + text);
  if (!idle()) told_by_store_ = {code, text};
  on_alarm(code, text);
}

// The answer may come when another test runs: then it is not for that one.
void Station::on_look(analysis::StepSums sums) {
  if (!unit_) return;
  const std::shared_ptr<const analysis::Context> context(unit_, &unit_->context);
  const auto asked = unit_->start_position;
  const auto answer = [weak = weak_from_this(), asked](const analysis::Advice& advice) {
    const auto self = weak.lock();
    if (self && self->busy_ && self->unit_ && self->unit_->start_position == asked)
      self->bench_->on_advice(advice);
  };
  (void)advice_.ask(std::move(sums), context, answer);
}

std::shared_ptr<RunningTest> Station::new_test() {
  const std::weak_ptr<Station> weak = weak_from_this();
  const auto on_station = [weak](auto member) {
    return [weak, member](auto&&... given) {
      if (const auto self = weak.lock()) ((*self).*member)(std::forward<decltype(given)>(given)...);
    };
  };
  RunningTest::Events events;
  events.kept = on_station(&Station::show_verdict);
  events.not_kept = on_station(&Station::show_not_kept);
  events.piece_lost = on_station(&Station::stop);
  events.untidy = [weak](const std::string& fault) {
    if (const auto self = weak.lock())
      self->tell_of_store("S-122", "The store could not be tidied: " + fault + ". Tell plant IT.");
  };
  events.after_keeping = bench_keeper();
  return std::make_shared<RunningTest>(tools_, unit_, state_.simulated, std::move(events));
}

void Station::on_piece(analysis::RawTrace piece) {
  if (test_) test_->keep_piece(std::move(piece));
}

void Station::on_finished(FinishedTest test) {
  mark_rail(state_.rail, test.trace);
  state_.seconds_left.reset();
  if (state_.phase != LinePhase::press_stop) {
    state_.phase = LinePhase::storing;
    state_.message.clear();
  }
  publish();
  test_->finish(std::move(test));
}

void Station::show_verdict(LineResult result) {
  busy_ = false;
  test_.reset();
  state_.last_unit = state_.serial + ", " + result.verdict;
  state_.result = std::move(result);
  if (state_.phase != LinePhase::press_stop) state_.phase = LinePhase::verdict;
  publish();
  if (const auto told = std::exchange(told_by_store_, std::nullopt))
    on_alarm(told->first, told->second);
}

// Nothing of it is lost while the service runs: it waits in `test_` until clear() keeps it again.
void Station::show_not_kept(const schema::StoreFault& fault) {
  storage_fault(fault.what(),
                "The result of " + state_.serial + " " + what_becomes_of_result(fault.kind()));
}

// A motor that does not obey stays on the page: what to do about the disk can wait.
void Station::storage_fault(const std::string& what, const std::string& next) {
  busy_ = false;
  if (state_.phase == LinePhase::press_stop) return publish();
  out_of_contact_ = false;
  const std::string by_default =
      "No test was started or judged. Earlier records are safe and readable. Call plant IT.";
  show_fault(LinePhase::out_of_use, "S-120",
             "Storage failed: " + what + ". " + (next.empty() ? by_default : next));
}

}  // namespace endgate::daemon
