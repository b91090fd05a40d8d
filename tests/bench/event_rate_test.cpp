#include "daemon/bench/event_rate.h"

#include <gtest/gtest.h>

#include <bit>
#include <cmath>

namespace endgate::daemon {
namespace {

using analysis::Quality;

RegisterSource counting(RegisterType type, double over_s = 0.2) {
  RegisterSource source;
  source.type = type;
  source.conversion = Conversion::rate_of_count;
  source.rate_over_s = over_s;
  return source;
}

Reading good(std::int64_t raw) { return {0, raw, Quality::good}; }

double number(const Reading& reading) { return std::bit_cast<double>(reading.raw); }

TEST(EventRate, CountsEventsPerSecondOverItsWindow) {
  EventRate rate(counting(RegisterType::u32));
  Reading last;
  for (int i = 0; i <= 100; ++i) last = rate.converted(good(1000 + 12 * i), 20'000 * i);
  EXPECT_EQ(last.quality, Quality::good);
  EXPECT_DOUBLE_EQ(number(last), 600);
}

TEST(EventRate, SaysNothingBeforeItsWindowIsFull) {
  EventRate rate(counting(RegisterType::u32));
  for (int i = 0; i < 10; ++i)
    EXPECT_EQ(rate.converted(good(i), 20'000 * i).quality, Quality::no_value);
  EXPECT_EQ(rate.converted(good(10), 200'000).quality, Quality::good);
}

TEST(EventRate, IsNotDisturbedByAWrap) {
  for (const RegisterType type : {RegisterType::u16, RegisterType::u32}) {
    EventRate rate(counting(type));
    const std::int64_t wrap = type == RegisterType::u16 ? 0x10000 : 0x100000000;
    Reading last;
    for (int i = 0; i <= 40; ++i)
      last = rate.converted(good((wrap - 200 + 10 * i) % wrap), 20'000 * i);
    EXPECT_DOUBLE_EQ(number(last), 500);
  }
}

TEST(EventRate, KeepsABadReadingBad) {
  EventRate rate(counting(RegisterType::u16));
  EXPECT_EQ(rate.converted({0, 65535, Quality::no_value}, 0).quality, Quality::no_value);
}

TEST(EventRate, TurnsAPeriodIntoARateAndKnowsAStandstill) {
  RegisterSource source;
  source.conversion = Conversion::inverse_of_period;
  source.standstill = {65535};
  EventRate rate(source);
  EXPECT_DOUBLE_EQ(number(rate.converted(good(20'000), 0)), 1.0 / 20'000);
  EXPECT_EQ(number(rate.converted(good(65535), 1)), 0);
  EXPECT_EQ(rate.converted(good(65535), 1).quality, Quality::good);
  EXPECT_EQ(rate.converted(good(0), 2).quality, Quality::no_value);
}

}  // namespace
}  // namespace endgate::daemon
