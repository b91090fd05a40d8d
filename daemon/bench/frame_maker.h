// What one consistent picture do the registers of a poll round give?
//
// Pure: words and steady times in, a Frame out.  Keeps the last good value of each channel, so that
// a slow channel is still known between its polls, and forgets it when it is too old.
//
// Each device has its own time, taken halfway between question and answer: how far that is from the
// same moment of the device with the counter is known from the steady clock, so both are on bench
// time.  A device with a clock of its own, and a stream, is mapped by device_time.h.

#pragma once

#include <chrono>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "daemon/bench/bench_clock.h"
#include "daemon/bench/channel_table.h"
#include "daemon/bench/device_time.h"
#include "daemon/bench/event_rate.h"
#include "daemon/bench/part.h"
#include "daemon/bench/poll_plan.h"
#include "daemon/bench/register_image.h"
#include "daemon/frame.h"
#include "daemon/links/link.h"
#include "daemon/links/sample_block.h"

namespace endgate::daemon {

// What the bench says its actuators are set to, in the order of BenchDefinition::actuators.
using ReadBacks = std::vector<std::optional<double>>;

// One device's part in a round.
struct DeviceAnswer {
  std::size_t device = 0;
  std::chrono::steady_clock::time_point sent{};
  std::chrono::steady_clock::time_point arrived{};
  std::vector<std::shared_ptr<const SampleBlock>> blocks{};  // of a stream, oldest first
};

struct RoundAnswer {
  RegisterImage image;
  std::vector<std::size_t> channels;  // that were due
  std::chrono::steady_clock::time_point sent{};
  std::chrono::steady_clock::time_point arrived{};
  std::vector<DeviceAnswer> devices{};  // without one a device shares the frame's time
};

struct Picture {
  Frame frame;
  ReadBacks read_backs;
  std::string clock_fault;  // empty: bench time is believed
};

// A channel is silent after this long without a good sample: what the file allows, and the time
// between its polls on top, both on the steady clock.
[[nodiscard]] std::chrono::nanoseconds silent_after(const analysis::ChannelFacts& facts,
                                                    double declared_rate);

class FrameMaker {
 public:
  using Steady = std::chrono::steady_clock::time_point;

  FrameMaker(const BenchDefinition& bench,
             const std::vector<analysis::ChannelCalibration>& calibrations);

  // Absent: the counter was due and did not come, so nothing can be placed in time.
  [[nodiscard]] std::optional<Picture> make(const RoundAnswer& answer);

  // What one answer, or one block as it comes, says before its round is whole.  Empty until a first
  // round gave bench time.
  [[nodiscard]] Part part(const DeviceSpan& span, const SpanAnswer& answer) const;
  [[nodiscard]] Part part(std::size_t device, const SampleBlock& block, Steady arrived) const;

  [[nodiscard]] const ChannelTable& channels() const { return channels_; }
  [[nodiscard]] bool clock_settled() const { return clock_.settled(); }
  // Nothing heard before counts any more: the links were down.
  void forget();

  struct Heard {
    double value_si = 0;
    Steady at{};
  };
  [[nodiscard]] const std::optional<Heard>& heard(std::size_t channel) const {
    return heard_[channel];
  }
  // The first channel that is silent now.
  [[nodiscard]] std::optional<std::size_t> silent_channel(Steady now) const;

 private:
  [[nodiscard]] std::optional<BenchClock::Update> time_of(const RoundAnswer& answer);
  [[nodiscard]] Interlocks interlocks_of(const RegisterImage& image) const;
  [[nodiscard]] ReadBacks read_backs_of(const RegisterImage& image) const;
  [[nodiscard]] Reading streamed(std::size_t channel, const SampleBlock& block,
                                 std::size_t sample) const;
  [[nodiscard]] ReceivedValue received(const Reading& reading, std::int64_t time_us) const;
  [[nodiscard]] std::int64_t bench_us_at(Steady moment) const;  // placed_
  void fill_readings(Frame& frame, const RoundAnswer& answer);
  void fill_stream(Frame& frame, std::size_t channel, const DeviceAnswer& answer);
  void fill_waveform(Frame& frame, const RoundAnswer& answer);
  void fill_values(Frame& frame);
  // Bench time of what a device answered in this round; absent: the frame's.
  [[nodiscard]] std::optional<std::int64_t> time_of_device(const Frame& frame,
                                                           const RoundAnswer& answer,
                                                           const DeviceAnswer& part);
  [[nodiscard]] std::int64_t bench_us_between(Steady from, Steady to) const;
  [[nodiscard]] bool is_silent(std::size_t channel, Steady now) const;

  struct Placed {
    std::int64_t bench_us = 0;
    Steady at{};
  };

  BenchDefinition bench_;
  ChannelTable channels_;
  BenchClock clock_;
  std::optional<Placed> placed_;  // the newest frame in time
  std::vector<std::optional<Heard>> heard_;
  std::vector<EventRate> rates_;          // by channel
  std::vector<DeviceTime> device_times_;  // by device
  std::vector<Unwrapped> counters_;       // by device
};

}  // namespace endgate::daemon
