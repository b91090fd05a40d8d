// From the start fact to the kept verdict; see station.h.

#include <boost/asio/post.hpp>
#include <chrono>
#include <utility>

#include "analysis/evaluate.h"
#include "daemon/line/line_parts.h"
#include "daemon/line/station.h"
#include "daemon/line/station_unit.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/line/version.h"
#include "daemon/line/wall_clock.h"
#include "daemon/mapping/past_test.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"

namespace endgate::daemon {
namespace {

// Bench time from the start command to the last sample plus steady time from there to now.
double cycle_seconds(const FinishedTest& test) {
  const std::chrono::duration<double> after =
      std::chrono::steady_clock::now() - test.last_sample_at;
  return 1e-6 * static_cast<double>(test.last_sample_us - test.start_command_us) + after.count();
}

std::optional<double> value_of(const BenchLive& live, analysis::Role role) {
  for (const LiveValue& value : live.values)
    if (value.role == role) return value.value_si;
  return std::nullopt;
}

// Litres of the meter's own reference state per litre of the limits' reference state, as one
// factor.
double meter_to_reference(const analysis::Context& context) {
  const analysis::BenchFacts& meter = context.bench;
  const analysis::ReferenceConditions& limits = context.model.reference;
  return meter.meter_reference_pressure_pa / limits.inlet_pressure_abs_pa *
         limits.inlet_temperature_k / meter.meter_reference_temperature_k;
}

}  // namespace

// The start fact is durable before the relay is commanded (three syncs in the life of a test).
void Station::commit_start(const Answer& done) {
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
    const Committed committed = self->commit_start_fact(store);
    boost::asio::post(self->tools_.io,
                      [self, done, committed] { self->start_committed(committed, done); });
  });
  if (queued) return;
  busy_ = false;
  refuse(done, "S-121", "The store is behind. Earlier tests are being kept. Start again shortly.");
}

// On the record thread, so behind whatever the test before says about the bench: a unit that was
// scanned before its alarm was kept is not judged either, nor one that was tested on another bench
// or decided on since.
Station::Committed Station::commit_start_fact(schema::StoreWriter& store) const {
  Committed committed;
  try {
    committed.stopped = stopped_by_alarm();
    committed.outdated =
        !say_the_same(unit_->history, read_history(tools_.store_folder, unit_->serial));
    if (!committed.stopped && !committed.outdated) committed.position = store.append(unit_->start);
  } catch (const schema::StoreFault& caught) {
    committed.fault = caught.what();
  }
  return committed;
}

void Station::start_committed(const Committed& committed, const Answer& done) {
  if (!committed.fault.empty()) {
    storage_fault(committed.fault);
    return refuse(done, state_.code, state_.message);
  }
  if (committed.stopped) {
    busy_ = false;
    show_fault(LinePhase::refused, committed.stopped->code, committed.stopped->sentence);
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
  mark_rail(state_.rail, 0);
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
  publish();
}

// A motor that does not obey stays on the page until a person clears it; a bench that is not heard
// is out of use only until it is.
void Station::follow_condition(const BenchLive& live) {
  if (live.condition == BenchCondition::motor_unknown) {
    if (state_.phase != LinePhase::press_stop) open_alarm_soon(kAlarmMotor, live.condition_text);
    state_.phase = LinePhase::press_stop;
    state_.code = live.condition_code;
    state_.message = live.condition_text;
  } else if (live.condition == BenchCondition::connecting && idle() &&
             (out_of_contact_ || state_.phase == LinePhase::free ||
              state_.phase == LinePhase::ready)) {
    out_of_contact_ = true;
    state_.phase = LinePhase::out_of_use;
    state_.code = live.condition_code;
    state_.message = live.condition_text;
  } else if (live.condition == BenchCondition::ready && out_of_contact_) {
    out_of_contact_ = false;
    forget_unit();
    state_.phase = LinePhase::free;
  }
}

// The growing curve: the last flow seen in each hold, at the reference state of the limits but
// without the corrections of the evaluation; for the eye only.
void Station::on_step(const std::optional<StepProgress>& before,
                      const std::optional<double>& flow_before) {
  if (state_.expected_s > 0) state_.seconds_left = state_.expected_s - state_.live.test_seconds;
  if (!state_.live.step) return;
  mark_rail(state_.rail, state_.live.step->index);
  if (!unit_->trial_name.empty()) return say_turn(*state_.live.step);
  if (!before || before->index == state_.live.step->index || !flow_before) return;
  const StepDefinition& ended = unit_->model.sequence.at(before->index);
  if (ended.kind == analysis::StepKind::hold)
    state_.so_far.push_back(
        {ended.target_gauge_pa, *flow_before * meter_to_reference(unit_->context)});
}

// Whoever stands at the bench must know that a rest is no end.
void Station::say_turn(const StepProgress& step) {
  state_.message = "Lab trial: " + unit_->trial_name + ".";
  if (step.turn > 0) state_.message += " Turn " + std::to_string(step.turn) + ".";
  const bool rests = unit_->model.sequence.at(step.index).kind == analysis::StepKind::vent;
  if (rests && step.motor_will_run) state_.message += " The motor may start again by itself.";
}

void Station::on_alarm(const std::string& code, const std::string& text) {
  if (state_.phase == LinePhase::press_stop || !idle()) return;
  state_.code = code;
  state_.message = text;
  publish();
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

// In the order they come, each durable before the record.  A trial whose trace cannot be kept is
// worth nothing: it ends.
void Station::keep_piece(analysis::RawTrace piece, RecordThread::Carries what) {
  const auto self = shared_from_this();
  const auto unit = unit_;
  const auto kept = std::make_shared<const analysis::RawTrace>(std::move(piece));
  const auto job = [self, unit, kept](schema::StoreWriter& store) {
    try {
      unit->pieces->push_back(
          piece_of(store.append_piece(unit->start_position, stored_trace_of(*kept))));
    } catch (const schema::StoreFault& caught) {
      boost::asio::post(self->tools_.io, [self, what = std::string(caught.what())] {
        self->stop("the service, because a piece of the trace was not kept (" + what + ")");
      });
    }
    checkpoint_quietly(store, *self);
  };
  if (!tools_.records.post(job, what))
    stop("the service, because more waits to be kept than the store can take");
}

void Station::on_finished(FinishedTest test) {
  mark_rail(state_.rail, test.trace);
  state_.seconds_left.reset();
  if (state_.phase != LinePhase::press_stop) {
    state_.phase = LinePhase::storing;
    state_.message.clear();
  }
  publish();
  if (test.last_piece)
    keep_piece(*std::exchange(test.last_piece, std::nullopt), RecordThread::Carries::result);
  const auto self = shared_from_this();
  const auto finished = std::make_shared<FinishedTest>(std::move(test));
  boost::asio::post(tools_.pool, [self, finished] { self->judge(*finished); });
}

analysis::PastTest Station::as_past_test(const analysis::Evaluation& evaluation) const {
  const analysis::Grade& grade = evaluation.grade;
  const bool nothing_decides = grade.verdict == analysis::Verdict::pass || grade.reasons.empty();
  return {.attempt = static_cast<int>(unit_->start.attempt),
          .verdict = grade.verdict,
          .purpose = unit_->purpose,
          .after_repair = unit_->history.repaired_since,
          .metrics = evaluation.metrics,
          .deciding = nothing_decides ? "" : grade.reasons.front().sentence};
}

// On the pool: reads only what was pinned at the scan.
void Station::judge(const FinishedTest& test) {
  const auto judged = std::make_shared<Judged>();
  judged->evaluation = analysis::evaluate(test.trace, unit_->context);
  judged->standing =
      standing_with(unit_->history, as_past_test(judged->evaluation), unit_->production_limits);
  judged->cycle_s = cycle_seconds(test);
  judged->record = record_of({.start = unit_->start,
                              .start_position = unit_->start_position,
                              .finished = wall_clock_now(),
                              .cycle_s = judged->cycle_s,
                              .software = software_version(),
                              .simulated = state_.simulated},
                             test.trace, unit_->context, judged->evaluation, judged->standing);
  judged->trace = test.trace;
  if (unit_->plan.long_run) judged->pieces = unit_->pieces;
  keep(judged);
}

// On the record thread, behind every piece: only then is their list whole.
schema::Trace Station::trace_to_keep(const Judged& judged) {
  return judged.pieces ? stored_long_trace_of(judged.trace, *judged.pieces)
                       : stored_trace_of(judged.trace);
}

void Station::keep(const std::shared_ptr<Judged>& judged) {
  const auto self = shared_from_this();
  const auto job = [self, judged](schema::StoreWriter& store) {
    schema::Position position = 0;
    std::string fault;
    try {
      position = store.append(std::move(judged->record), trace_to_keep(*judged));
    } catch (const schema::StoreFault& caught) {
      fault = caught.what();
    }
    boost::asio::post(self->tools_.io, [self, judged, position, fault] {
      if (!fault.empty()) return self->storage_fault(fault);
      self->show_verdict(
          result_of(judged->evaluation, judged->standing, position, judged->cycle_s));
    });
    checkpoint_quietly(store, *self);
    if (fault.empty()) self->look_after_bench(store, position);
  };
  if (!tools_.records.post(job, RecordThread::Carries::result))
    boost::asio::post(tools_.io, [self] {
      self->storage_fault("more results wait to be kept than the store can take");
    });
}

// After the answer; a failing checkpoint loses nothing but must be seen.
void Station::checkpoint_quietly(schema::StoreWriter& store, Station& self) {
  try {
    store.checkpoint_when_due();
  } catch (const schema::StoreFault& caught) {
    const std::string fault = caught.what();
    boost::asio::post(self.tools_.io, [station = self.shared_from_this(), fault] {
      station->on_alarm("S-122", "The store could not be tidied: " + fault + " Tell plant IT.");
    });
  }
}

void Station::show_verdict(LineResult result) {
  busy_ = false;
  state_.last_unit = state_.serial + ", " + result.verdict;
  state_.result = std::move(result);
  if (state_.phase != LinePhase::press_stop) state_.phase = LinePhase::verdict;
  publish();
}

void Station::storage_fault(const std::string& what) {
  busy_ = false;
  show_fault(LinePhase::out_of_use, "S-120",
             "Storage failed: " + what +
                 " The running test is not shown as judged. Earlier records are safe and "
                 "readable. Call plant IT.");
}

}  // namespace endgate::daemon
