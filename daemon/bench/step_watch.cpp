#include "daemon/bench/step_watch.h"

#include <cmath>

#include "analysis/advise_leak.h"
#include "analysis/leak_test.h"
#include "analysis/motor_runs.h"

namespace endgate::daemon {

using analysis::DwellSums;
using analysis::is_leak;
using analysis::Role;
using analysis::StepKind;

namespace {

constexpr double kZeroSettle_s = 0.5;  // as analysis/calibration.cpp spares it

void fill_with(std::array<DwellSums, analysis::kRoleCount>& sums, double start_s) {
  sums.fill(DwellSums(start_s));
}

}  // namespace

void StepWatch::on_frame(const Frame& frame, const analysis::StepMark& step,
                         const analysis::StepMark* beside) {
  if (frame.bench_time_us <= newest_us_) return;  // the trace drops it too
  newest_us_ = frame.bench_time_us;
  take_block(frame, step);
  if (analysis::motor_runs(step.kind)) motor_ran_s_ = seconds(frame.bench_time_us);
  if (step.kind == StepKind::zero) take_zero(frame, step);
  if (step.kind == StepKind::hold) take_dwell(frame, step);
  if (is_leak(step.kind)) take_leak(frame, step);
  if (beside != nullptr && is_leak(beside->kind)) take_leak(frame, *beside);
  leak_under_way_ = is_leak(step.kind) ? std::optional(step.kind) : std::nullopt;
}

double StepWatch::case_lag_s() const {
  const auto channel = channels_.channel_of(Role::case_temperature);
  return channel ? channels_.facts(*channel).lag_s : 0;
}

std::optional<StepWatch::LeakDwell>& StepWatch::leak_of(StepKind kind) {
  return kind == StepKind::seal_leak ? seal_leak_ : back_leak_;
}

void StepWatch::take_leak(const Frame& frame, const analysis::StepMark& step) {
  if (!step.ready_us) return;
  std::optional<LeakDwell>& leak = leak_of(step.kind);
  if (!leak) {
    const double shut_s = seconds(*step.ready_us);
    leak.emplace();
    leak->mark = step;
    leak->watched_s =
        shut_s + analysis::not_watched_s(step.kind, case_lag_s(), shut_s - motor_ran_s_);
    leak->next_look_s = leak->watched_s + kLeastLeak_s;
    fill_with(leak->sums, leak->watched_s);
  }
  if (seconds(frame.bench_time_us) >= leak->watched_s) add_samples(leak->sums, frame);
}

void StepWatch::take_zero(const Frame& frame, const analysis::StepMark& step) {
  const double start_s = seconds(step.start_us) + kZeroSettle_s;
  const double now_s = seconds(frame.bench_time_us);
  if (now_s < start_s) return;
  if (!zero_start_s_) fill_with(zero_, start_s);
  zero_start_s_ = start_s;
  add_samples(zero_, frame);
  for (const Role role : {Role::discharge_pressure, Role::supply_current, Role::seal_pressure}) {
    const auto i = static_cast<std::size_t>(role);
    if (const auto zero = zero_[i].moments(now_s, {}, 0)) sums_.zero_si[i] = zero->mean;
  }
}

void StepWatch::take_dwell(const Frame& frame, const analysis::StepMark& step) {
  if (sums_.step_id != step.id) {
    if (dwell_start_s_)
      sums_.before =
          analysis::HoldBefore{sums_.target_gauge_pa, sums_.receiver, sums_.now_s, sums_.dwell};
    sums_.step_id = step.id;
    dwell_start_s_.reset();
  }
  if (!step.ready_us) return;
  const double start_s = seconds(*step.ready_us) + rule_.settle_s;
  const double now_s = seconds(frame.bench_time_us);
  if (now_s < start_s) return;
  if (!dwell_start_s_) {
    fill_with(sums_.dwell, start_s);
    dwell_start_s_ = start_s;
    next_look_s_ = start_s + rule_.min_window_s;
    sums_.kind = step.kind;
    sums_.target_gauge_pa = step.target_gauge_pa;
    sums_.receiver = step.receiver;
  }
  sums_.now_s = now_s;
  add_samples(sums_.dwell, frame);
}

void StepWatch::add_samples(std::array<DwellSums, analysis::kRoleCount>& sums, const Frame& frame) {
  for (const Reading& reading : frame.readings) {
    if (reading.quality != analysis::Quality::good) continue;
    const auto role = static_cast<std::size_t>(channels_.facts(reading.channel).role);
    sums[role].add(seconds(frame.bench_time_us), channels_.value_si(reading));
    sums_.resolution_si[role] = resolution_si(reading.channel);
  }
}

// A number sent as a float has no step.
double StepWatch::resolution_si(std::size_t channel) const {
  const analysis::ChannelFacts& facts = channels_.facts(channel);
  return channels_.kind(channel) == analysis::RawKind::count
             ? std::abs(facts.scale * facts.calibration.gain)
             : 0;
}

// Frames in which one of the values is missing add nothing.
void StepWatch::take_block(const Frame& frame, const analysis::StepMark& step) {
  const double now_s = seconds(frame.bench_time_us);
  const auto gauge = frame.value(Role::discharge_pressure);
  const auto flow = frame.value(Role::flow);
  const auto head = frame.value(Role::head_temperature);
  const auto ambient = frame.value(Role::ambient_temperature);
  if (!gauge || !flow || !head || !ambient) return;
  if (filling_.frames == 0) filling_ = {0, 0, {}, now_s};
  analysis::Block& sum = filling_.sum;
  ++filling_.frames;
  sum.time_s += now_s;
  sum.gauge_pa += *gauge;
  sum.flow_m3_s += *flow;
  sum.head_k += *head;
  sum.ambient_k += *ambient;
  if (const auto seal = frame.value(Role::seal_pressure)) {
    sum.seal_gauge_pa = sum.seal_gauge_pa.value_or(0) + *seal;
    ++filling_.seal_frames;
  }
  sum.motor_on = analysis::motor_runs(step.kind);
  sum.outlet_shut = step.kind == StepKind::pump_up;
  if (now_s - filling_.start_s < analysis::kBlock_s - 1e-3) return;
  const double n = filling_.frames;
  if (sum.seal_gauge_pa) *sum.seal_gauge_pa /= filling_.seal_frames;
  sums_.blocks.push_back({sum.time_s / n, sum.gauge_pa / n, sum.flow_m3_s / n, sum.head_k / n,
                          sum.ambient_k / n, sum.motor_on, sum.outlet_shut, sum.seal_gauge_pa});
  filling_ = {};
}

std::optional<analysis::StepSums> StepWatch::look_at_leak() {
  LeakDwell& leak = *leak_of(*leak_under_way_);
  const double now_s = seconds(newest_us_);
  if (now_s < leak.next_look_s) return std::nullopt;
  leak.next_look_s = now_s + kLeakLook_s;
  analysis::StepSums sums = sums_;
  sums.step_id = leak.mark.id;
  sums.kind = leak.mark.kind;
  sums.target_gauge_pa = leak.mark.target_gauge_pa;
  sums.receiver = leak.mark.receiver;
  sums.now_s = now_s;
  sums.watched_s = leak.watched_s;
  sums.dwell = leak.sums;
  return sums;
}

std::optional<analysis::StepSums> StepWatch::look() {
  if (leak_under_way_ && leak_of(*leak_under_way_)) return look_at_leak();
  if (!dwell_start_s_ || sums_.now_s < next_look_s_) return std::nullopt;
  next_look_s_ = sums_.now_s + analysis::kLook_s;
  return sums_;
}

}  // namespace endgate::daemon
