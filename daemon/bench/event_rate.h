// How fast do events come, by a count that wraps or by the time between two of them?
//
//   rate_of_count      (count now - count then) / (time now - time then), then at least rate_over_s
//                      ago; the difference is taken modulo the width of the register, so a wrap
//                      does no harm while fewer than that many events pass in between
//   inverse_of_period  1 / raw; a standstill code is rate 0, a raw 0 is no value
//
// The numbers are per second, or per whatever the period counts; scale_si of the channel holds
// pulses per revolution and the length of a tick.  Quantisation of a count: one event over the
// time between.
//
// Pure; one object for one channel.

#pragma once

#include <cstdint>
#include <deque>

#include "daemon/definitions/source_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class EventRate {
 public:
  explicit EventRate(const RegisterSource& source) : source_(source) {}

  // `raw` of a good reading becomes the bits of the rate; no_value while nothing can be told.
  [[nodiscard]] Reading converted(Reading reading, std::int64_t time_us);
  void forget() { past_.clear(); }

 private:
  struct Past {
    std::int64_t time_us = 0;
    std::uint32_t count = 0;
  };
  [[nodiscard]] Reading rate_of_count(Reading reading, std::int64_t time_us);
  [[nodiscard]] Reading inverse_of_period(Reading reading) const;

  RegisterSource source_;
  std::deque<Past> past_;  // oldest first; one at most is older than rate_over_s
};

}  // namespace endgate::daemon
