// Only a bench that was seen quiet for long enough, at a stretch, may be taken from its owner.

#include "daemon/bench/life_watch.h"

#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using Seen = LifeWatch::Seen;

class LifeWatchTest : public ::testing::Test {
 protected:
  LifeWatch watch{made_bench()};
  LifeWatch::Steady now{};
  Frame frame;

  void SetUp() override {
    frame.interlocks.lease_live = false;
    frame.interlocks.motor_relay_closed = false;
  }
  void hear_for(std::chrono::milliseconds span, std::chrono::milliseconds every = 100ms) {
    for (const auto end = now + span; now < end;) {
      now += every;
      frame.arrived = now;
      watch.on_frame(frame);
    }
  }
};

TEST_F(LifeWatchTest, SeesQuietAfterThreeSeconds) {
  EXPECT_EQ(watch.seen(now), Seen::untold);
  hear_for(3000ms);
  EXPECT_EQ(watch.seen(now), Seen::alive) << "2.9 s from the first frame to the last";
  hear_for(100ms);
  EXPECT_EQ(watch.seen(now), Seen::quiet);
}

TEST_F(LifeWatchTest, EachSignOfLifeBeginsItAnew) {
  hear_for(4s);
  frame.interlocks.lease_live = true;
  hear_for(100ms);
  EXPECT_EQ(watch.seen(now), Seen::alive);
  frame.interlocks.lease_live = false;
  hear_for(4s);
  frame.value_si[static_cast<std::size_t>(Role::supply_current)] = 8;
  hear_for(100ms);
  EXPECT_EQ(watch.seen(now), Seen::alive);
}

TEST_F(LifeWatchTest, AnInputThatIsNotSaidIsNoQuiet) {
  frame.interlocks.lease_live.reset();
  hear_for(10s);
  EXPECT_EQ(watch.seen(now), Seen::untold);
  frame.interlocks.lease_live = false;
  hear_for(2s);
  EXPECT_EQ(watch.seen(now), Seen::alive) << "before, nobody could tell";
}

TEST_F(LifeWatchTest, AShortStretchOfFramesAndThenSilenceIsNoQuiet) {
  hear_for(200ms);
  EXPECT_EQ(watch.seen(now + 2900ms), Seen::untold);
}

TEST_F(LifeWatchTest, AGapIsNoQuiet) {
  hear_for(2s);
  now += 5s;
  hear_for(100ms);
  EXPECT_EQ(watch.seen(now), Seen::alive);
  hear_for(4s);
  watch.forget();
  hear_for(100ms);
  EXPECT_EQ(watch.seen(now), Seen::alive);
}

// Of a device of its own pace not every frame brings the input.
TEST_F(LifeWatchTest, AnInputMayBeMissingInSingleFrames) {
  for (int i = 0; i < 40; ++i) {
    frame.interlocks.lease_live = i % 2 == 0 ? std::optional(false) : std::nullopt;
    hear_for(100ms);
  }
  EXPECT_EQ(watch.seen(now), Seen::quiet);
}

}  // namespace
}  // namespace endgate::tests
