#include "daemon/bench/bench_clock.h"

#include <cmath>
#include <cstdio>

#include "daemon/bench/steady_time.h"

namespace endgate::daemon {
namespace {

template <class... Values>
std::string text(const char* format, Values... values) {
  char buffer[160];
  std::snprintf(buffer, sizeof buffer, format, values...);
  return buffer;
}

}  // namespace

BenchClock::BenchClock(const std::optional<ClockDefinition>& definition)
    : definition_(definition) {}

double BenchClock::steady_s(std::int64_t ticks) const {
  return static_cast<double>(ticks) * definition_->tick_s / definition_->declared_rate;
}

BenchClock::Update BenchClock::read(Steady arrived) {
  if (!last_arrived_) window_.push_back({0, arrived, arrived});
  const auto since = arrived - window_.front().arrived;
  last_us_ = std::chrono::duration_cast<std::chrono::microseconds>(since).count();
  last_arrived_ = arrived;
  return {last_us_, {}};
}

BenchClock::Update BenchClock::read(const CounterReading& reading) {
  if (window_.empty()) {
    begin_at(reading);
    return {last_us_, {}};
  }
  const auto moved = static_cast<std::int32_t>(reading.counter - last_counter_);
  const Past now{window_.back().ticks + moved, reading.sent, reading.arrived};
  const std::string fault = fault_of(now, moved);
  if (!fault.empty()) {
    window_.clear();
    begin_at(reading);
    return {last_us_, fault};
  }
  last_counter_ = reading.counter;
  last_arrived_ = reading.arrived;
  last_us_ = base_us_ + std::llround(static_cast<double>(now.ticks) * definition_->tick_s * 1e6);
  if (moved > 0) moved_last_ = now;
  remember(now);
  return {last_us_, {}};
}

std::string BenchClock::fault_of(const Past& now, std::int64_t moved) const {
  if (moved < 0)
    return text("the bench counter stepped back by %.3f s",
                -static_cast<double>(moved) * definition_->tick_s);
  if (moved == 0 && now.sent - moved_last_.arrived > kFrozenAfter)
    return text("the bench counter has stood still for %.2f s",
                seconds(now.arrived - moved_last_.sent));
  const Past& last = window_.back();
  const double most_s = seconds(now.arrived - last.sent) * definition_->rate_max;
  if (steady_s(moved) > most_s + seconds(kJump))
    return text("the bench counter jumped ahead by %.3f s",
                static_cast<double>(moved) * definition_->tick_s);
  return rate_fault(window_.front(), now, kDeviceJitter);
}

std::string BenchClock::rate_fault(const Past& from, const Past& now,
                                   std::chrono::milliseconds slack) const {
  const double least_s = seconds(now.sent - from.arrived);
  if (least_s < seconds(kSettled)) return {};
  const double most_s = seconds(now.arrived - from.sent);
  const double counted_s = steady_s(now.ticks - from.ticks);
  const double allowed_s = seconds(slack) + 2 * definition_->tick_s / definition_->declared_rate;
  const bool slow = counted_s < definition_->rate_min * least_s - allowed_s;
  const bool fast = counted_s > definition_->rate_max * most_s + allowed_s;
  if (!slow && !fast) return {};
  return text("the bench counter runs at %.3f of its declared rate, allowed are %.2f to %.2f",
              counted_s / (0.5 * (least_s + most_s)), definition_->rate_min, definition_->rate_max);
}

void BenchClock::begin_at(const CounterReading& reading) {
  if (last_arrived_) {
    const double away_s = seconds(reading.arrived - *last_arrived_) * definition_->declared_rate;
    last_us_ += std::llround(std::max(away_s, 0.0) * 1e6) + 1;
  }
  base_us_ = last_us_;
  last_counter_ = reading.counter;
  last_arrived_ = reading.arrived;
  moved_last_ = {0, reading.sent, reading.arrived};
  window_.assign(1, moved_last_);
}

void BenchClock::remember(const Past& now) {
  window_.push_back(now);
  while (window_.size() > 2 && now.sent - window_[1].arrived >= kWindow) window_.pop_front();
}

bool BenchClock::settled() const {
  if (!definition_) return last_arrived_.has_value();
  return !window_.empty() && window_.back().sent - window_.front().arrived >= kSettled;
}

void BenchClock::start_over() {
  if (definition_) window_.clear();
}

}  // namespace endgate::daemon
