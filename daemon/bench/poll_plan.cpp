#include "daemon/bench/poll_plan.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "daemon/bench/actuators.h"

namespace endgate::daemon {
namespace {

DeviceSpan span_of(const BenchDefinition& bench, const RegisterSource& source) {
  return {device_index(bench, source.device), source.function, source.address,
          registers_of(source.type)};
}

void add_bit(std::vector<DeviceSpan>& spans, const BenchDefinition& bench,
             const std::optional<BitSource>& bit) {
  if (bit) spans.push_back({device_index(bench, bit->device), bit->function, bit->address, 1});
}

std::vector<DeviceSpan> always_read(const BenchDefinition& bench) {
  std::vector<DeviceSpan> spans;
  if (bench.clock) spans.push_back(span_of(bench, bench.clock->counter));
  const InterlockDefinition& locks = bench.interlocks;
  for (const auto* bit : {&locks.cover_closed, &locks.emergency_stop_clear,
                          &locks.motor_relay_closed, &locks.lease_live, &locks.relay_latched_open})
    add_bit(spans, bench, *bit);
  for (const ActuatorDefinition& actuator : bench.actuators) {
    if (actuator.id == actuator::kOwner || actuator.id == actuator::kLease) continue;
    if (actuator.read_back) spans.push_back(span_of(bench, *actuator.read_back));
    add_bit(spans, bench, actuator.read_back_bit);
  }
  return spans;
}

double fastest_period_s(const BenchDefinition& bench) {
  double fastest = 1;
  for (const ChannelDefinition& channel : bench.channels)
    fastest = std::min(fastest, channel.facts.period_s);
  return fastest;
}

auto order(const DeviceSpan& span) {
  return std::tuple(span.device, span.function, span.address, span.count);
}

// Grows `last` over `next` when they may share one request.
bool merged(DeviceSpan& last, const DeviceSpan& next) {
  if (last.device != next.device || last.function != next.function) return false;
  const int end = last.address + last.count;
  const int new_end = std::max(end, next.address + next.count);
  if (next.address > end + kLargestGap || new_end - last.address > kLargestSpan) return false;
  last.count = static_cast<std::uint16_t>(new_end - last.address);
  return true;
}

}  // namespace

PollPlan::PollPlan(const BenchDefinition& bench)
    : tick_s_(fastest_period_s(bench)), always_(always_read(bench)) {
  const double rate = bench.clock ? bench.clock->declared_rate : 1;
  tick_steady_ = std::chrono::nanoseconds(std::llround(tick_s_ / rate * 1e9));
  for (const ChannelDefinition& channel : bench.channels) {
    const std::int64_t every = std::llround(channel.facts.period_s / tick_s_);
    slots_.push_back({std::max<std::int64_t>(every, 1), 0, span_of(bench, channel.source)});
  }
}

PollRound PollPlan::round(std::int64_t tick) {
  PollRound round;
  std::vector<DeviceSpan> spans = always_;
  for (std::size_t i = 0; i < slots_.size(); ++i) {
    Slot& slot = slots_[i];
    if (tick < slot.next) continue;
    slot.next = (tick / slot.every + 1) * slot.every;
    round.channels.push_back(i);
    spans.push_back(slot.span);
  }
  round.spans = merge_spans(std::move(spans));
  return round;
}

std::vector<DeviceSpan> merge_spans(std::vector<DeviceSpan> spans) {
  std::sort(spans.begin(), spans.end(),
            [](const DeviceSpan& a, const DeviceSpan& b) { return order(a) < order(b); });
  std::vector<DeviceSpan> result;
  for (const DeviceSpan& span : spans)
    if (result.empty() || !merged(result.back(), span)) result.push_back(span);
  return result;
}

}  // namespace endgate::daemon
