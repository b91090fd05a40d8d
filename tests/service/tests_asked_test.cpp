// Days asked for are days on the clock that pages show.

#include "daemon/views/tests_asked.h"

#include <gtest/gtest.h>

#include <cstdint>
#include <limits>

#include "tests/support/zone.h"

namespace endgate::daemon {
namespace {

constexpr std::int64_t kHourMs = 3600000;
constexpr std::int64_t kMidnightUtcMs = 1795564800000;  // 2026-11-25 00:00 UTC

TrendFilter on(const char* since, const char* until) {
  return filter_of({.model = "P1-60-12", .since = since, .until = until});
}

TEST(TestsAsked, ADayIsThatOfThePlantsClock) {
  const test::Zone zone("XXX-10");  // ten hours ahead of UTC
  const TrendFilter filter = on("2026-11-25", "2026-11-25");
  EXPECT_EQ(filter.since_utc_ms, kMidnightUtcMs - 10 * kHourMs);
  EXPECT_EQ(filter.before_utc_ms, kMidnightUtcMs + 14 * kHourMs);
}

// Clocks of this zone go back one hour on 2026-10-25.
TEST(TestsAsked, ADayOnWhichTheClockIsSetBackHas25Hours) {
  const test::Zone zone("CET-1CEST,M3.5.0,M10.5.0/3");
  const TrendFilter filter = on("2026-10-25", "2026-10-25");
  EXPECT_EQ(filter.before_utc_ms - filter.since_utc_ms, 25 * kHourMs);
}

TEST(TestsAsked, WithoutDaysEveryTestIsAskedFor) {
  const TrendFilter filter = on("", "");
  EXPECT_EQ(filter.since_utc_ms, 0);
  EXPECT_EQ(filter.before_utc_ms, std::numeric_limits<std::int64_t>::max());
}

}  // namespace
}  // namespace endgate::daemon
