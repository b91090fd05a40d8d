#include "daemon/bench/poll_plan.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include "daemon/bench/actuators.h"
#include "daemon/bench/steady_time.h"
#include "daemon/links/link.h"

namespace endgate::daemon {
namespace {

constexpr std::uint16_t kStreamRegisters = 4;  // sequence and device time

DeviceSpan span_of(const BenchDefinition& bench, const RegisterSource& source) {
  const std::size_t device = device_index(bench, source.device);
  if (source.column) return {device, source.function, 0, kStreamRegisters};
  return {device, source.function, source.address, registers_of(source.type), source.unit_id};
}

void add_bit(std::vector<DeviceSpan>& spans, const BenchDefinition& bench,
             const std::optional<BitSource>& bit) {
  if (bit)
    spans.push_back(
        {device_index(bench, bit->device), bit->function, bit->address, 1, bit->unit_id});
}

std::vector<DeviceSpan> always_read(const BenchDefinition& bench) {
  std::vector<DeviceSpan> spans;
  if (bench.clock) spans.push_back(span_of(bench, bench.clock->counter));
  for (const DeviceDefinition& device : bench.devices)
    if (device.time) spans.push_back(span_of(bench, device.time->counter));
  if (bench.current_waveform) spans.push_back(span_of(bench, bench.current_waveform->source));
  const InterlockDefinition& locks = bench.interlocks;
  for (const auto* bit :
       {&locks.cover_closed, &locks.emergency_stop_clear, &locks.motor_relay_closed,
        &locks.lease_live, &locks.relay_latched_open, &locks.fixture_clamped})
    add_bit(spans, bench, *bit);
  for (const ActuatorDefinition& actuator : bench.actuators) {
    if (actuator.id == actuator::kOwner || actuator.id == actuator::kLease) continue;
    if (actuator.read_back) spans.push_back(span_of(bench, *actuator.read_back));
    add_bit(spans, bench, actuator.read_back_bit);
  }
  return spans;
}

// Interlocks want to be seen even where every channel is slow or comes as a stream.
double slowest_round_s(const BenchDefinition& bench) {
  const bool streams = std::ranges::any_of(bench.channels, [](const ChannelDefinition& channel) {
    return channel.source.column.has_value();
  });
  return streams ? 0.05 : 1;
}

double fastest_period_s(const BenchDefinition& bench) {
  double fastest = 1;
  for (const ChannelDefinition& channel : bench.channels)
    if (!channel.source.column) fastest = std::min(fastest, channel.facts.period_s);
  return std::min(fastest, slowest_round_s(bench));
}

ReadLimits limits_of(const DeviceDefinition& device) {
  if (!is_scpi(device.link)) return {device.largest_gap, device.most_registers};
  return {0, device.join_queries ? device.most_registers : kWordsOfNumber};
}

auto order(const DeviceSpan& span) {
  return std::tuple(span.device, span.unit_id, span.function, span.address, span.count);
}

// Grows `last` over `next` when they may share one request.
bool merged(DeviceSpan& last, const DeviceSpan& next, const ReadLimits& limits) {
  if (last.device != next.device || last.function != next.function) return false;
  if (last.unit_id != next.unit_id) return false;
  const int end = last.address + last.count;
  const int new_end = std::max(end, next.address + next.count);
  if (next.address > end + limits.largest_gap) return false;
  if (new_end > end && new_end - last.address > limits.most_registers) return false;
  last.count = static_cast<std::uint16_t>(new_end - last.address);
  return true;
}

}  // namespace

PollPlan::PollPlan(const BenchDefinition& bench)
    : tick_s_(fastest_period_s(bench)), always_(always_read(bench)) {
  for (const DeviceDefinition& device : bench.devices) limits_.push_back(limits_of(device));
  const double rate = declared_rate(bench);
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
  round.spans = merge_spans(std::move(spans), limits_);
  return round;
}

std::vector<DeviceSpan> merge_spans(std::vector<DeviceSpan> spans,
                                    const std::vector<ReadLimits>& limits) {
  std::sort(spans.begin(), spans.end(),
            [](const DeviceSpan& a, const DeviceSpan& b) { return order(a) < order(b); });
  const auto limits_of = [&](std::size_t device) {
    return device < limits.size() ? limits[device] : ReadLimits{};
  };
  std::vector<DeviceSpan> result;
  for (const DeviceSpan& span : spans)
    if (result.empty() || !merged(result.back(), span, limits_of(span.device)))
      result.push_back(span);
  return result;
}

}  // namespace endgate::daemon
