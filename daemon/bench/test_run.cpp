#include "daemon/bench/test_run.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "daemon/bench/actuators.h"

namespace endgate::daemon {

using analysis::BreakOff;

namespace {

constexpr std::chrono::seconds kGiveUpAfter{10};  // without any frame while making safe

}  // namespace

TestRun::TestRun(const BenchDefinition& bench, const ModelDefinition& model,
                 const std::vector<analysis::ChannelCalibration>& calibrations,
                 const TrialPlan& plan)
    : channels_(bench, calibrations),
      sequence_(bench, model, plan),
      safety_(bench, model),
      recorder_(channels_),
      waveform_(bench.current_waveform, model.steady.settle_s),
      digest_(channels_),
      long_run_(plan.long_run),
      keep_every_s_(plan.keep_every_s),
      piece_span_us_(std::llround(1e6 * plan.piece_s)),
      watch_(channels_, model.steady) {
  for (const StepDefinition& step : model.sequence)
    step_names_.push_back(step.name.empty() ? step.id : step.name);
}

SequenceOutput TestRun::begin(const Frame& frame) {
  start_us_ = newest_us_ = piece_from_us_ = frame.bench_time_us;
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
  look_for_witness(frame);
  if (!sequence_.making_safe() && !sequence_.finished())
    if (const auto found = safety_.on_frame(frame, read_backs, situation())) return end_for(*found);
  // Advice needs the gas history of the whole test, which a long run does not hold.
  if (const analysis::StepMark* step = sequence_.under_way(); step != nullptr && !long_run_)
    watch_.on_frame(frame, *step, sequence_.beside());
  return noted(sequence_.on_frame(frame));
}

SequenceOutput TestRun::on_part(const Part& part) {
  if (sequence_.making_safe() || sequence_.finished()) return {};
  const auto found = safety_.on_part(part, situation());
  if (!found) return {};
  tripped_early_ = found->trip.has_value();
  return end_for(*found);
}

// Motor off did not wait for the second channel; whether it agrees is seen in the whole round.
void TestRun::look_for_witness(const Frame& frame) {
  if (!std::exchange(tripped_early_, false) || !sequence_.tripped()) return;
  if (!sequence_.tripped()->confirmed) witness_ = safety_.witness(*sequence_.tripped(), frame);
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
  const bool was_stopped =
      motor_was_on_ && !sequence_.motor_should_run() && !sequence_.motor_will_run();
  return !finished() && !sequence_.making_safe() && !was_stopped;
}

FinishedTest TestRun::finish() {
  FinishedTest test;
  if (long_run_) test.last_piece = piece_of(recorder_.finish());
  test.trace.channels = long_run_ ? digest_.finish() : recorder_.finish();
  if (auto column = waveform_.finish()) test.trace.channels.push_back(std::move(*column));
  test.trace.steps = sequence_.steps();
  test.trace.trip = sequence_.tripped();
  if (test.trace.trip && witness_) {
    test.trace.trip->confirmed = true;
    test.trace.trip->confirmed_by = *witness_;
  }
  test.trace.break_off = sequence_.broken_off();
  test.trace.break_off_detail = sequence_.break_off_detail();
  test.start_command_us = start_us_;
  test.last_sample_us = last_us_;
  test.last_sample_at = last_at_;
  return test;
}

Safety::Situation TestRun::situation() const {
  const std::size_t index = sequence_.progress().index;
  const auto id_of = [](const analysis::StepMark* step) { return step ? step->id : std::string(); };
  const analysis::StepMark* step = sequence_.under_way();
  const std::int64_t since_us = std::max(step ? step->start_us : start_us_, running_since_us_);
  return {running_, index < step_names_.size() ? step_names_[index] : "the test", id_of(step),
          id_of(sequence_.beside()), since_us};
}

SequenceOutput TestRun::end_for(const SafetyFinding& found) {
  if (found.trip) return noted(sequence_.trip(*found.trip));
  return break_off(found.broken_off.cause, found.broken_off.detail);
}

SequenceOutput TestRun::noted(SequenceOutput out) {
  for (const ActuatorCommand& command : out.commands) safety_.commanded(command, newest_at_);
  for (const analysis::StepMark& mark : out.ended)
    if (mark.kind == analysis::StepKind::start) started_ = true;
  // What starts anew may draw its starting current and stand still for a moment again.
  if (!sequence_.motor_should_run()) started_ = false;
  motor_was_on_ = motor_was_on_ || sequence_.motor_should_run();
  const bool ran = std::exchange(running_, started_ && sequence_.motor_should_run());
  if (running_ && !ran) running_since_us_ = newest_us_;
  return out;
}

void TestRun::record(const Frame& frame) {
  if (!recording_ || sequence_.broken_off() == BreakOff::clock_sick) return;
  recorder_.record(frame, keep_every_us(frame));
  waveform_.on_frame(frame, sequence_.under_way());
  if (long_run_) digest_.record(frame);
  last_us_ = frame.bench_time_us;
  last_at_ = frame.arrived;
}

// Runs and rests are thinned once they have gone on for a while; measurements and starts never.
std::int64_t TestRun::keep_every_us(const Frame& frame) const {
  const analysis::StepMark* step = sequence_.under_way();
  if (keep_every_s_ <= 0 || step == nullptr) return 0;
  using analysis::StepKind;
  if (step->kind != StepKind::warm_up && step->kind != StepKind::vent) return 0;
  const double for_s = 1e-6 * static_cast<double>(frame.bench_time_us - step->start_us);
  return for_s > TrialPlan::kWholeFor_s ? std::llround(1e6 * keep_every_s_) : 0;
}

std::optional<analysis::RawTrace> TestRun::take_piece() {
  if (!long_run_ || recorder_.held() == 0) return std::nullopt;
  const bool due =
      recorder_.held() >= kPieceSamples || newest_us_ - piece_from_us_ >= piece_span_us_;
  if (!due) return std::nullopt;
  return piece_of(recorder_.take_piece());
}

// With the marks of the steps that ended in it.
analysis::RawTrace TestRun::piece_of(std::vector<analysis::RawChannel> channels) {
  analysis::RawTrace piece;
  piece.channels = std::move(channels);
  const auto& marks = sequence_.steps();
  piece.steps.assign(marks.begin() + static_cast<std::ptrdiff_t>(marks_handed_over_), marks.end());
  marks_handed_over_ = marks.size();
  piece_from_us_ = newest_us_;
  return piece;
}

}  // namespace endgate::daemon
