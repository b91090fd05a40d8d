#include "daemon/bench/sequence.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "daemon/bench/actuators.h"
#include "daemon/bench/end_watch.h"
#include "daemon/bench/loop_control.h"
#include "daemon/bench/running_step.h"
#include "daemon/bench/steady_time.h"

namespace endgate::daemon {

using analysis::BreakOff;
using analysis::StepEnd;
using Steady = std::chrono::steady_clock::time_point;

namespace {

constexpr double kMakeSafeWithin_s = 10;  // steady clock; then the test is given up on

// Without a tacho, or while it says nothing, a crank that was on so lately may still turn.
constexpr double kRunsDown_s = 5;
constexpr double kStands_rev_s = 0.5;

bool is_made_safe(const BenchDefinition& bench, const Frame& frame) {
  return is_vented(bench, frame) && !frame.interlocks.motor_relay_closed.value_or(false);
}

double expected_s(const ModelDefinition& model, const StepDefinition& step) {
  if (step.kind == analysis::StepKind::start) return model.start_within_s;
  return step.duration_s;
}

}  // namespace

struct Sequence::Impl {
  enum class Phase { idle, stepping, making_safe, finished };

  BenchDefinition bench;
  ModelDefinition model;
  Phase phase = Phase::idle;
  std::size_t index = 0;            // behind the last step when all are over
  std::optional<RunningStep> step;  // under way, or the last one that was
  std::optional<RunningStep> beside;
  Steady now{};  // of the newest frame
  Steady test_started{}, safe_started{};
  std::string receiver_in_use;
  bool motor = false;
  std::optional<Steady> off_since;  // of a motor that ran in this test
  std::vector<analysis::StepMark> marks;
  std::optional<analysis::Trip> trip;
  BreakOff off = BreakOff::none;
  std::string off_detail;
  LoopControl loops;
  EndWatch ends;
  std::optional<std::size_t> leap_to;   // the trial is over: go there
  std::vector<std::size_t> run_beside;  // steps that are over because they ran beside others

  Impl(const BenchDefinition& bench_given, const ModelDefinition& model_given,
       const TrialPlan& plan)
      : bench(bench_given), model(model_given), loops(plan.loops), ends(plan.ends) {}

  void send(SequenceOutput& out, std::vector<ActuatorCommand> commands) {
    for (ActuatorCommand& each : commands) {
      if (is_motor_off(each) && std::exchange(motor, false)) off_since = now;
      if (is_motor_on(each)) motor = true;
      if (each.actuator == actuator::kReceiver) note_receiver(each.value_si);
      out.commands.push_back(std::move(each));
    }
  }

  void note_receiver(double value) {
    for (const ReceiverDefinition& receiver : bench.receivers)
      if (std::abs(receiver.actuator_value - value) < 0.5) receiver_in_use = receiver.name;
  }

  // A step that ran beside the others and is over already is not run again.
  bool is_over(std::size_t step_index) const {
    return std::ranges::find(run_beside, step_index) != run_beside.end();
  }

  void enter_step(SequenceOutput& out, const Frame& frame) {
    while (index < model.sequence.size() && is_over(index)) ++index;
    if (index >= model.sequence.size()) return make_safe(out, frame);
    if (beside && beside->index() == index) return take_over(out, frame);
    step.emplace(bench, model, index, frame, RunningStep::Place::own);
    if (!step->is_known())
      return break_off(out, BreakOff::not_started,
                       "step " + step->mark().id + " is of an unknown kind", frame.bench_time_us);
    send(out, step->enter(frame, motor));
    step->uses_receiver(receiver_in_use.empty() ? step->definition().receiver : receiver_in_use);
    begin_beside(out, frame);
  }

  void begin_beside(SequenceOutput& out, const Frame& frame) {
    for (std::size_t i = index + 1; i < model.sequence.size(); ++i) {
      if (beside || model.sequence[i].begins_with != step->definition().id) continue;
      beside.emplace(bench, model, i, frame, RunningStep::Place::beside);
      beside->uses_receiver(step->mark().receiver);
      send(out, beside->enter(frame, motor));
    }
  }

  // What ran beside the others has come to its own place and goes on as the step under way.
  void take_over(SequenceOutput& out, const Frame& frame) {
    step.emplace(*std::move(beside));
    beside.reset();
    send(out, step->left_alone(frame, motor));
  }

  // A step that reached its limit ends by it, unless it ends by itself in this frame.
  StepOutcome driven(SequenceOutput& out, RunningStep& running, const Frame& frame) {
    StepOutcome outcome = running.on_frame(frame, motor);
    if (!running.is_at_limit(frame) || outcome.end || outcome.trip || outcome.off) return outcome;
    send(out, std::move(outcome.commands));
    return running.at_limit(frame, motor);
  }

  void on_beside_frame(SequenceOutput& out, const Frame& frame) {
    StepOutcome outcome = driven(out, *beside, frame);
    send(out, std::move(outcome.commands));
    if (outcome.end) end_beside(out, *outcome.end, outcome.reason, frame.bench_time_us);
  }

  void end_beside(SequenceOutput& out, StepEnd end, const std::string& reason,
                  std::int64_t time_us) {
    if (!beside) return;
    keep(out, beside->ended(end, reason, time_us));
    run_beside.push_back(beside->index());
    beside.reset();
  }

  void end_step(SequenceOutput& out, StepEnd end, const std::string& reason, std::int64_t time_us) {
    if (end != StepEnd::complete && end != StepEnd::bench_time_limit)
      end_beside(out, end, reason, time_us);
    keep(out, step->ended(end, reason, time_us));
  }

  void keep(SequenceOutput& out, const analysis::StepMark& mark) {
    marks.push_back(mark);
    out.ended.push_back(mark);
  }

  void start_making_safe(SequenceOutput& out) {
    phase = Phase::making_safe;
    safe_started = now;
    send(out, safe_commands(bench));
  }

  // A clamp holds the unit until it is vented and stands still; without one there is nothing to wait
  // for.
  bool may_let_go(const Frame& frame) const {
    const bool clamps = find_actuator(bench, actuator::kClamp).has_value();
    return is_made_safe(bench, frame) && (!clamps || is_at_rest(frame));
  }

  bool is_at_rest(const Frame& frame) const {
    if (!off_since) return !motor;
    const auto speed = frame.value(analysis::Role::speed);
    return speed ? *speed < kStands_rev_s : seconds(now - *off_since) >= kRunsDown_s;
  }

  // Nothing moves by itself under a hand: behind an open cover or a pressed stop it stays closed.
  void finish(SequenceOutput& out, const Frame& frame, bool let_go) {
    phase = Phase::finished;
    out.finished = true;
    const bool guarded = frame.interlocks.cover_closed.value_or(true) &&
                         frame.interlocks.emergency_stop_clear.value_or(true);
    if (let_go && guarded && find_actuator(bench, actuator::kClamp))
      send(out, {{std::string(actuator::kClamp), 0}});
  }

  // After the last step: a bench that is already safe needs nothing more.
  void make_safe(SequenceOutput& out, const Frame& frame) {
    if (!motor && may_let_go(frame))
      finish(out, frame, true);
    else
      start_making_safe(out);
  }

  void break_off(SequenceOutput& out, BreakOff cause, const std::string& detail,
                 std::int64_t time_us, StepEnd end = StepEnd::broken_off) {
    off = cause;
    off_detail = detail;
    start_making_safe(out);
    end_step(out, end, detail, time_us);
  }

  void trip_now(SequenceOutput& out, const analysis::Trip& what) {
    trip = what;
    start_making_safe(out);
    end_step(out, StepEnd::tripped, what.limit_id + " on " + what.channel_id, what.time_us);
  }

  void on_step_frame(SequenceOutput& out, const Frame& frame) {
    if (on_steady_limit(out, frame)) return;
    loops.on_frame(frame, index);
    if (beside) on_beside_frame(out, frame);
    StepOutcome outcome = driven(out, *step, frame);
    refuse_unsafe_rest(outcome);
    if (!outcome.trip && !outcome.off) end_by_value(outcome, frame);
    apply(out, outcome, frame);
  }

  // The motor starts again after a rest: only from a vented receiver, with off read back.
  void refuse_unsafe_rest(StepOutcome& outcome) const {
    const bool rest =
        step->definition().kind == analysis::StepKind::vent && index + 1 < model.sequence.size();
    if (!rest || outcome.end != StepEnd::bench_time_limit) return;
    outcome.off = BreakOff::actuator_refused;
    outcome.reason = step->mark().id + " did not end vented with the motor read back off";
  }

  // A value that was to be waited for ends the step as planned; with the trial, only the last step
  // remains.  The last step itself makes the bench safe and is not cut short.
  void end_by_value(StepOutcome& outcome, const Frame& frame) {
    const std::size_t last = model.sequence.size() - 1;
    if (index == last) return;
    const auto reached = ends.on_frame(frame, index);
    if (!reached) return;
    const bool rest = step->definition().kind == analysis::StepKind::vent;
    if (rest && !reached->ends_trial && !is_made_safe(bench, frame)) return;
    outcome.end = StepEnd::complete;
    outcome.reason = reached->why;
    if (reached->ends_trial) leap_to = last;
  }

  void apply(SequenceOutput& out, StepOutcome& outcome, const Frame& frame) {
    if (outcome.trip) return trip_now(out, *outcome.trip);
    if (outcome.off) return break_off(out, *outcome.off, outcome.reason, frame.bench_time_us);
    send(out, std::move(outcome.commands));
    if (!outcome.end) return;
    const LoopControl::Next next = loops.after(index, frame.bench_time_us);
    if (outcome.reason.empty()) outcome.reason = next.why;
    end_step(out, *outcome.end, outcome.reason, frame.bench_time_us);
    index = std::exchange(leap_to, std::nullopt).value_or(next.step);
    enter_step(out, frame);
  }

  // Bench time that lags so far behind the steady clock is no time to measure by.
  bool on_steady_limit(SequenceOutput& out, const Frame& frame) {
    const bool step_over = step->is_over_steady_limit(frame);
    const bool test_over =
        seconds(now - test_started) * declared_rate(bench) > model.whole_test_limit_s;
    if (!step_over && !test_over) return false;
    const std::string what = step_over ? "step " + step->mark().id : "the whole test";
    break_off(out, BreakOff::clock_sick, what + " exceeded its limit on the steady clock",
              frame.bench_time_us, StepEnd::steady_time_limit);
    return true;
  }

  void on_safe_frame(SequenceOutput& out, const Frame& frame) {
    const bool given_up = seconds(now - safe_started) > kMakeSafeWithin_s;
    const bool safe = may_let_go(frame);
    if (safe || given_up) finish(out, frame, safe);
  }

  void set_wake(SequenceOutput& out) const {
    if (phase == Phase::stepping) out.wake_at_us = step->limit_us();
  }
};

Sequence::Sequence(const BenchDefinition& bench, const ModelDefinition& model,
                   const TrialPlan& plan)
    : impl_(std::make_unique<Impl>(bench, model, plan)) {}
Sequence::~Sequence() = default;
Sequence::Sequence(Sequence&&) noexcept = default;
Sequence& Sequence::operator=(Sequence&&) noexcept = default;

SequenceOutput Sequence::begin(const Frame& frame) {
  SequenceOutput out;
  impl_->phase = Impl::Phase::stepping;
  impl_->now = frame.arrived;
  impl_->test_started = frame.arrived;
  impl_->enter_step(out, frame);
  impl_->set_wake(out);
  return out;
}

SequenceOutput Sequence::on_frame(const Frame& frame) {
  SequenceOutput out;
  impl_->now = frame.arrived;
  if (impl_->phase == Impl::Phase::stepping)
    impl_->on_step_frame(out, frame);
  else if (impl_->phase == Impl::Phase::making_safe)
    impl_->on_safe_frame(out, frame);
  impl_->set_wake(out);
  return out;
}

void Sequence::on_advice(const analysis::Advice& advice) {
  if (impl_->phase == Impl::Phase::stepping) impl_->step->on_advice(advice);
}

SequenceOutput Sequence::break_off(BreakOff cause, const std::string& detail,
                                   std::int64_t bench_time_us) {
  SequenceOutput out;
  if (impl_->phase == Impl::Phase::stepping) impl_->break_off(out, cause, detail, bench_time_us);
  return out;
}

SequenceOutput Sequence::trip(const analysis::Trip& trip) {
  SequenceOutput out;
  if (impl_->phase == Impl::Phase::stepping) impl_->trip_now(out, trip);
  return out;
}

StepProgress Sequence::progress() const {
  const std::size_t last = impl_->model.sequence.empty() ? 0 : impl_->model.sequence.size() - 1;
  const std::size_t index = std::min(impl_->index, last);
  const double expected =
      impl_->model.sequence.empty() ? 0 : expected_s(impl_->model, impl_->model.sequence[index]);
  const std::int64_t started_us = impl_->step ? impl_->step->mark().start_us : 0;
  return {index, started_us, expected, impl_->loops.turn_at(index), motor_will_run()};
}

const analysis::StepMark* Sequence::beside() const {
  return impl_->beside ? &impl_->beside->mark() : nullptr;
}

const analysis::StepMark* Sequence::under_way() const {
  return impl_->phase == Impl::Phase::stepping ? &impl_->step->mark() : nullptr;
}

bool Sequence::motor_should_run() const { return impl_->motor; }

bool Sequence::motor_will_run() const {
  if (impl_->phase != Impl::Phase::stepping) return false;
  for (std::size_t i = 0; i < impl_->model.sequence.size(); ++i) {
    if (impl_->model.sequence[i].kind != analysis::StepKind::start) continue;
    if (i > impl_->index || impl_->loops.may_come_again(i, impl_->index)) return true;
  }
  return false;
}

bool Sequence::finished() const { return impl_->phase == Impl::Phase::finished; }
bool Sequence::making_safe() const { return impl_->phase == Impl::Phase::making_safe; }
const std::vector<analysis::StepMark>& Sequence::steps() const { return impl_->marks; }
const std::optional<analysis::Trip>& Sequence::tripped() const { return impl_->trip; }
BreakOff Sequence::broken_off() const { return impl_->off; }
const std::string& Sequence::break_off_detail() const { return impl_->off_detail; }

}  // namespace endgate::daemon
