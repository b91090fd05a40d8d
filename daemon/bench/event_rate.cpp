#include "daemon/bench/event_rate.h"

#include <algorithm>
#include <bit>

namespace endgate::daemon {
namespace {

constexpr std::size_t kMostKept = 4096;

Reading with_number(Reading reading, double number) {
  reading.raw = std::bit_cast<std::int64_t>(number);
  return reading;
}

Reading without_value(Reading reading) {
  reading.quality = analysis::Quality::no_value;
  reading.raw = 0;
  return reading;
}

}  // namespace

Reading EventRate::converted(Reading reading, std::int64_t time_us) {
  const bool is_standstill =
      std::ranges::find(source_.standstill, reading.raw) != source_.standstill.end();
  if (source_.conversion == Conversion::inverse_of_period && is_standstill)
    return with_number({reading.channel, 0, analysis::Quality::good, reading.time_us}, 0);
  if (source_.conversion == Conversion::as_is || reading.quality != analysis::Quality::good)
    return reading;
  return source_.conversion == Conversion::rate_of_count ? rate_of_count(reading, time_us)
                                                         : inverse_of_period(reading);
}

Reading EventRate::rate_of_count(Reading reading, std::int64_t time_us) {
  const auto count = static_cast<std::uint32_t>(reading.raw);
  if (!past_.empty() && time_us <= past_.back().time_us) return without_value(reading);
  past_.push_back({time_us, count});
  const auto over_us = static_cast<std::int64_t>(source_.rate_over_s * 1e6);
  while (past_.size() > kMostKept || (past_.size() > 2 && time_us - past_[1].time_us >= over_us))
    past_.pop_front();
  const Past& then = past_.front();
  if (time_us - then.time_us < over_us) return without_value(reading);
  std::uint32_t events = count - then.count;
  if (source_.type == RegisterType::u16) events &= 0xffff;
  return with_number(
      reading, static_cast<double>(events) * 1e6 / static_cast<double>(time_us - then.time_us));
}

Reading EventRate::inverse_of_period(Reading reading) const {
  if (reading.raw <= 0) return without_value(reading);
  return with_number(reading, 1 / static_cast<double>(reading.raw));
}

}  // namespace endgate::daemon
