#include "daemon/bench/device_time.h"

#include <gtest/gtest.h>

#include <cstdlib>
#include <random>

namespace endgate::daemon {
namespace {

TEST(DeviceTime, TrustsThePairWithTheLeastWay) {
  DeviceTime time;
  time.pair(1000, 51'000, 4000);
  time.pair(2000, 50'100, 200);
  time.pair(3000, 54'000, 5000);
  EXPECT_EQ(time.bench_us(3000), 51'100);
}

TEST(DeviceTime, StaysWithinAMillisecondOfADriftingCrystal) {
  std::mt19937 random(7);
  DeviceTime time;
  std::int64_t worst_us = 0;
  for (std::int64_t bench_us = 0; bench_us < 60'000'000; bench_us += 20'000) {
    const std::int64_t way_us = 200 + static_cast<std::int64_t>(random() % 5000);
    const std::int64_t device_us = bench_us + bench_us / 10'000 + 123'456;  // 100 ppm fast
    time.pair(device_us, bench_us + way_us / 2, way_us);
    worst_us = std::max(worst_us, std::abs(time.bench_us(device_us) - bench_us));
  }
  EXPECT_LT(worst_us, 1300);
}

TEST(Unwrapped, GoesOnWhereTheCounterWraps) {
  Unwrapped wide, narrow;
  wide.add(0xfffffff0u, 32);
  const std::int64_t before = wide.add(0xfffffff5u, 32);
  EXPECT_EQ(wide.add(5, 32) - before, 16);
  narrow.add(65'530, 16);
  const std::int64_t then = narrow.add(65'535, 16);
  EXPECT_EQ(narrow.add(4, 16) - then, 5);
}

}  // namespace
}  // namespace endgate::daemon
