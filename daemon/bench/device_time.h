// When, in bench time, was this sample of a device that has a clock of its own?
//
// In each poll round the device's time and the bench's stand side by side, apart by the way of the
// answer.  The pair with the least way within the last kWindow maps the device's time to the
// bench's:
//
//   bench = device + (bench - device of that pair)
//
// Two crystals that differ by 100 ppm walk 1 ms apart in a window; that and the least way are the
// uncertainty.  Pure.

#pragma once

#include <cstdint>
#include <deque>

namespace endgate::daemon {

// A counter that wraps, made one that does not.  Readings come in their order.
class Unwrapped {
 public:
  std::int64_t add(std::uint32_t counter, int bits) {
    const std::uint32_t moved = counter - last_;
    ticks_ += bits == 16 ? static_cast<std::int16_t>(moved) : static_cast<std::int32_t>(moved);
    last_ = counter;
    return ticks_;
  }

 private:
  std::uint32_t last_ = 0;
  std::int64_t ticks_ = 0;
};

class DeviceTime {
 public:
  static constexpr std::int64_t kWindow_us = 10'000'000;

  // `way_us`: by how much the pair may be wrong, or any number that orders pairs by it.
  void pair(std::int64_t device_us, std::int64_t bench_us, std::int64_t way_us) {
    while (!pairs_.empty() && bench_us - pairs_.front().bench_us > kWindow_us) pairs_.pop_front();
    while (!pairs_.empty() && pairs_.back().way_us >= way_us) pairs_.pop_back();
    pairs_.push_back({bench_us, bench_us - device_us, way_us});
  }
  [[nodiscard]] bool is_known() const { return !pairs_.empty(); }
  [[nodiscard]] std::int64_t bench_us(std::int64_t device_us) const {
    return device_us + pairs_.front().ahead_us;  // known
  }
  void forget() { pairs_.clear(); }

 private:
  struct Pair {
    std::int64_t bench_us = 0, ahead_us = 0, way_us = 0;
  };
  std::deque<Pair> pairs_;  // the front has the least way of the window
};

}  // namespace endgate::daemon
