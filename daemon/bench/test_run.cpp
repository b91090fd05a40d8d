#include "daemon/bench/test_run.h"

#include <utility>

#include "daemon/bench/actuators.h"

namespace endgate::daemon {

using analysis::BreakOff;

namespace {

constexpr std::chrono::seconds kGiveUpAfter{10};  // without any frame while making safe

}  // namespace

TestRun::TestRun(const BenchDefinition& bench, const ModelDefinition& model,
                 const std::vector<analysis::ChannelCalibration>& calibrations)
    : channels_(bench, calibrations),
      sequence_(bench, model),
      safety_(bench, model),
      recorder_(channels_),
      waveform_(bench.current_waveform, model.steady.settle_s),
      watch_(channels_, model.steady) {
  for (const StepDefinition& step : model.sequence) step_ids_.push_back(step.id);
}

SequenceOutput TestRun::begin(const Frame& frame) {
  start_us_ = newest_us_ = frame.bench_time_us;
  newest_at_ = frame.arrived;
  safety_.begin(frame.arrived);
  watch_.begin(frame.bench_time_us);
  record(frame);
  return noted(sequence_.begin(frame));
}

SequenceOutput TestRun::on_frame(const Frame& frame, const ReadBacks& read_backs) {
  newest_us_ = frame.bench_time_us;
  newest_at_ = frame.arrived;
  record(frame);
  if (!sequence_.making_safe() && !sequence_.finished())
    if (const auto found = safety_.on_frame(frame, read_backs, situation())) return end_for(*found);
  if (const analysis::StepMark* step = sequence_.under_way()) watch_.on_frame(frame, *step);
  return noted(sequence_.on_frame(frame));
}

SequenceOutput TestRun::on_steady(Steady now) {
  if (sequence_.finished()) return {};
  if (sequence_.making_safe()) {
    given_up_ = given_up_ || now - newest_at_ > kGiveUpAfter;
    return {};
  }
  const auto found = safety_.on_steady(now, situation());
  return found ? end_for(*found) : SequenceOutput{};
}

SequenceOutput TestRun::break_off(BreakOff cause, const std::string& detail) {
  return noted(sequence_.break_off(cause, detail, newest_us_));
}

bool TestRun::lease_wanted() const {
  const bool was_stopped = motor_was_on_ && !sequence_.motor_should_run();
  return !finished() && !sequence_.making_safe() && !was_stopped;
}

FinishedTest TestRun::finish() {
  FinishedTest test;
  test.trace.channels = recorder_.finish();
  if (auto column = waveform_.finish()) test.trace.channels.push_back(std::move(*column));
  test.trace.steps = sequence_.steps();
  test.trace.trip = sequence_.tripped();
  test.trace.break_off = sequence_.broken_off();
  test.trace.break_off_detail = sequence_.break_off_detail();
  test.start_command_us = start_us_;
  test.last_sample_us = last_us_;
  test.last_sample_at = last_at_;
  return test;
}

Safety::Situation TestRun::situation() const {
  const std::size_t index = sequence_.progress().index;
  return {running_, index < step_ids_.size() ? step_ids_[index] : "the test"};
}

SequenceOutput TestRun::end_for(const SafetyFinding& found) {
  if (found.trip) return noted(sequence_.trip(*found.trip));
  return break_off(found.broken_off.cause, found.broken_off.detail);
}

SequenceOutput TestRun::noted(SequenceOutput out) {
  for (const ActuatorCommand& command : out.commands) safety_.commanded(command, newest_at_);
  for (const analysis::StepMark& mark : out.ended)
    if (mark.kind == analysis::StepKind::start) started_ = true;
  motor_was_on_ = motor_was_on_ || sequence_.motor_should_run();
  running_ = started_ && sequence_.motor_should_run();
  return out;
}

void TestRun::record(const Frame& frame) {
  if (!recording_ || sequence_.broken_off() == BreakOff::clock_sick) return;
  recorder_.record(frame);
  waveform_.on_frame(frame, sequence_.under_way());
  last_us_ = frame.bench_time_us;
  last_at_ = frame.arrived;
}

}  // namespace endgate::daemon
