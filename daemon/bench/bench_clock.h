// What time is it on the bench, and may its counter be believed?
//
//   time_us = counter ticks, unwrapped, from 0 at the first reading
//
// A counter read over a wire was taken somewhere between sending the request and receiving the
// answer, so between readings i and j the steady clock passed at least sent_j - arrived_i and at
// most arrived_j - sent_i.  The counter is sick when no rate the file allows explains it within
// those bounds: a slow process or network widens them and cannot accuse the device.
//
//   stepped back   it stands below its last value (a wrap of 32 bits is no step back)
//   frozen         it has not moved for kFrozenAfter
//   jumped         it moved further than rate_max allows, by more than kJump
//   wrong rate     over kWindow it is outside [rate_min, rate_max] * declared_rate by more than
//                  kDeviceJitter, the device's own unevenness
//
// After a fault the clock starts over, never earlier than the last time it gave.  Without a
// counter bench time is the steady clock and nothing can be sick.

#pragma once

#include <chrono>
#include <cstdint>
#include <deque>
#include <optional>
#include <string>

#include "daemon/definitions/bench_definition.h"

namespace endgate::daemon {

struct CounterReading {
  std::uint32_t counter = 0;
  std::chrono::steady_clock::time_point sent{};
  std::chrono::steady_clock::time_point arrived{};
};

class BenchClock {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::milliseconds kFrozenAfter{250};
  static constexpr std::chrono::milliseconds kJump{250};
  static constexpr std::chrono::milliseconds kWindow{10'000};
  static constexpr std::chrono::milliseconds kDeviceJitter{100};
  static constexpr std::chrono::milliseconds kSettled{500};

  explicit BenchClock(const std::optional<ClockDefinition>& definition);

  struct Update {
    std::int64_t time_us = 0;  // never earlier than the one before
    std::string fault;         // empty: believed
  };
  [[nodiscard]] Update read(const CounterReading& reading);
  [[nodiscard]] Update read(Steady arrived);  // a bench without a counter

  // Has the counter been believed for kSettled since the start or the last fault?
  [[nodiscard]] bool settled() const;
  // After the device was away: the next reading continues from the steady clock.
  void start_over();

 private:
  struct Past {
    std::int64_t ticks = 0;
    Steady sent{}, arrived{};
  };
  [[nodiscard]] std::string fault_of(const Past& now, std::int64_t moved) const;
  [[nodiscard]] std::string rate_fault(const Past& from, const Past& now,
                                       std::chrono::milliseconds slack) const;
  [[nodiscard]] double steady_s(std::int64_t ticks) const;  // at the declared rate
  void begin_at(const CounterReading& reading);
  void remember(const Past& now);

  std::optional<ClockDefinition> definition_;
  std::deque<Past> window_;  // since the last start
  Past moved_last_;          // when the counter last changed
  std::uint32_t last_counter_ = 0;
  std::int64_t base_us_ = 0;  // time at ticks = 0
  std::int64_t last_us_ = 0;
  std::optional<Steady> last_arrived_;
};

}  // namespace endgate::daemon
