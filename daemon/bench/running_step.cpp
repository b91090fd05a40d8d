#include "daemon/bench/running_step.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "daemon/bench/steady_time.h"

namespace endgate::daemon {

RunningStep::RunningStep(const BenchDefinition& bench, const ModelDefinition& model,
                         std::size_t index, const Frame& frame, Place place)
    : bench_(bench),
      model_(model),
      index_(index),
      place_(place),
      step_(make_step(model.sequence[index].kind)),
      entered_(frame.arrived) {
  mark_.id = definition().id;
  mark_.kind = definition().kind;
  mark_.target_gauge_pa = definition().target_gauge_pa;
  mark_.start_us = frame.bench_time_us;
}

StepView RunningStep::view(const Frame& frame, bool motor_runs) const {
  return {bench_,         model_,         definition(), frame,
          mark_.start_us, mark_.ready_us, motor_runs,   place_ == Place::beside,
          advice_};
}

std::vector<ActuatorCommand> RunningStep::enter(const Frame& frame, bool motor_runs) {
  return step_->enter(view(frame, motor_runs));
}

StepOutcome RunningStep::on_frame(const Frame& frame, bool motor_runs) {
  StepOutcome outcome = step_->on_frame(view(frame, motor_runs));
  if (outcome.ready && !mark_.ready_us) mark_.ready_us = frame.bench_time_us;
  return outcome;
}

bool RunningStep::is_at_limit(const Frame& frame) const {
  return static_cast<double>(frame.bench_time_us - mark_.start_us) / 1e6 >= definition().limit_s;
}

StepOutcome RunningStep::at_limit(const Frame& frame, bool motor_runs) {
  return step_->at_limit(view(frame, motor_runs));
}

bool RunningStep::is_over_steady_limit(const Frame& frame) const {
  return seconds(frame.arrived - entered_) * declared_rate(bench_) > definition().steady_limit_s;
}

std::int64_t RunningStep::limit_us() const {
  return mark_.start_us + std::llround(definition().limit_s * 1e6);
}

void RunningStep::on_advice(const analysis::Advice& advice) {
  if (advice.step_id == mark_.id && mark_.ready_us && advice.ends_step()) advice_ = advice;
}

std::vector<ActuatorCommand> RunningStep::left_alone(const Frame& frame, bool motor_runs) {
  place_ = Place::own;
  return step_->left_alone(view(frame, motor_runs));
}

analysis::StepMark RunningStep::ended(analysis::StepEnd end, std::string reason,
                                      std::int64_t time_us) const {
  analysis::StepMark mark = mark_;
  mark.end = end;
  mark.end_us = std::max(time_us, mark.start_us);
  mark.reason = std::move(reason);
  return mark;
}

}  // namespace endgate::daemon
