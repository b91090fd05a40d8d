// What does a raw number of a channel mean in SI, for steering, safety and display?
//
//   corrected = gain * (scale * number + offset) + calibration offset
//
// The number is what stands in the registers; of a count of pulses or a period it is their rate
// (event_rate.h), kept as a double.
//
// The record is evaluated by analysis/calibration.h from the same facts; this table decides nothing
// about a unit.

#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "daemon/bench/register_image.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class ChannelTable {
 public:
  // `calibrations` in the order of the channels; an empty list leaves those of the bench file.
  ChannelTable(const BenchDefinition& bench,
               const std::vector<analysis::ChannelCalibration>& calibrations);

  [[nodiscard]] std::size_t size() const { return entries_.size(); }
  [[nodiscard]] const analysis::ChannelFacts& facts(std::size_t channel) const {
    return entries_[channel].facts;
  }
  [[nodiscard]] analysis::RawKind kind(std::size_t channel) const;
  [[nodiscard]] int decimals(std::size_t channel) const { return entries_[channel].decimals; }
  // The first channel of the bench file with that role.
  [[nodiscard]] std::optional<std::size_t> channel_of(analysis::Role role) const {
    return by_role_[static_cast<std::size_t>(role)];
  }
  [[nodiscard]] const RegisterSource& source(std::size_t channel) const {
    return entries_[channel].source;
  }
  [[nodiscard]] std::size_t device(std::size_t channel) const { return entries_[channel].device; }
  // As it stands in the registers.  Good, or no_value when the device said so, answered with an
  // exception, sent a float that is not finite or a number that means a fault of sensor or wire.
  [[nodiscard]] Reading read(std::size_t channel, const RegisterImage& image) const;
  [[nodiscard]] Reading read(std::size_t channel, std::int64_t raw) const;
  [[nodiscard]] double value_si(const Reading& reading) const;  // quality must be good

 private:
  struct Entry {
    analysis::ChannelFacts facts;
    RegisterSource source;
    std::size_t device = 0;
    int decimals = 1;
  };
  std::vector<Entry> entries_;
  std::array<std::optional<std::size_t>, analysis::kRoleCount> by_role_;
};

// Is the value inside the sensor's range?
[[nodiscard]] inline bool in_range(const analysis::ChannelFacts& facts, double value_si) {
  return value_si >= facts.range_min_si && value_si <= facts.range_max_si;
}

}  // namespace endgate::daemon
