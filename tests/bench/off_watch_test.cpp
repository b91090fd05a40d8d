#include "daemon/bench/off_watch.h"

#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;

class OffWatchTest : public ::testing::Test {
 protected:
  OffWatch watch{made_bench()};  // follows within 300 ms
  std::chrono::steady_clock::time_point now{1000s};

  void frame(bool closed, double current_a = 0) {
    Frame frame;
    frame.arrived = now;
    frame.interlocks.motor_relay_closed = closed;
    frame.value_si[static_cast<std::size_t>(Role::supply_current)] = current_a;
    watch.on_frame(frame);
  }
};

TEST_F(OffWatchTest, ConfirmsOffWhenItIsTakenAndReadBackAndNoCurrentFlows) {
  watch.order(now);
  frame(false);
  EXPECT_FALSE(watch.confirmed());  // the device has not taken it yet
  watch.acknowledged();
  frame(true);
  EXPECT_FALSE(watch.confirmed());
  frame(false, 3);
  EXPECT_FALSE(watch.confirmed());
  frame(false, 0.1);
  EXPECT_TRUE(watch.confirmed());
}

// A sensor that reads more than that with no current never lets off be confirmed; the file says so.
TEST_F(OffWatchTest, TakesTheCurrentOfTheBenchFileForARunningMotor) {
  BenchDefinition bench = made_bench();
  const auto confirmed_at = [&](double current_a) {
    watch = OffWatch(bench);
    watch.order(now);
    watch.acknowledged();
    frame(false, current_a);
    return watch.confirmed();
  };
  EXPECT_TRUE(confirmed_at(0.4));
  EXPECT_EQ(watch.doubt(), "");
  EXPECT_FALSE(confirmed_at(-0.6));
  EXPECT_EQ(watch.doubt(),
            "the current sensor reads -0.60 A, and 0.50 A or more counts as a running motor");
  bench.motor_current_flows_a = 0.8;
  EXPECT_TRUE(confirmed_at(-0.6));
  EXPECT_FALSE(confirmed_at(0.9));
}

TEST_F(OffWatchTest, WhatIsNamedAndNotHeardConfirmsNothing) {
  BenchDefinition bench = made_bench();
  bench.interlocks.motor_relay_closed = BitSource{};
  OffWatch with_read_back(bench);
  with_read_back.order(now);
  with_read_back.acknowledged();
  Frame silent;
  silent.arrived = now;
  silent.value_si[static_cast<std::size_t>(Role::supply_current)] = 0.0;
  with_read_back.on_frame(silent);
  EXPECT_FALSE(with_read_back.confirmed());
  bench.interlocks.motor_relay_closed.reset();
  OffWatch by_current(bench);
  by_current.order(now);
  by_current.acknowledged();
  by_current.on_frame(Frame{});  // without read-back the current must be heard
  EXPECT_FALSE(by_current.confirmed());
  by_current.on_frame(silent);
  EXPECT_TRUE(by_current.confirmed());
}

TEST_F(OffWatchTest, RepeatsOffEveryHundredMillisecondsUntilConfirmed) {
  watch.order(now);
  EXPECT_FALSE(watch.send_due(now + 99ms));
  EXPECT_TRUE(watch.send_due(now + 100ms));
  watch.sent(now + 100ms);
  EXPECT_FALSE(watch.send_due(now + 199ms));
  EXPECT_TRUE(watch.send_due(now + 200ms));
  watch.acknowledged();
  frame(false);
  EXPECT_FALSE(watch.send_due(now + 1s));
}

TEST_F(OffWatchTest, LatchesUnknownWhenTheRelayDoesNotOpenInTime) {
  watch.order(now);
  watch.acknowledged();
  frame(true);
  watch.on_steady(now + 300ms, true);
  EXPECT_FALSE(watch.unknown());
  watch.on_steady(now + 301ms, true);
  EXPECT_TRUE(watch.unknown());
  frame(false);
  EXPECT_TRUE(watch.unknown());  // until a person clears it
  EXPECT_TRUE(watch.clear());
  EXPECT_FALSE(watch.unknown());
}

TEST_F(OffWatchTest, LatchesUnknownWhenCurrentFlowsThroughAnOpenRelay) {
  watch.order(now);
  watch.acknowledged();
  frame(false, 8);
  watch.on_steady(now + 301ms, true);
  EXPECT_TRUE(watch.unknown());
}

TEST_F(OffWatchTest, CannotBeClearedWhileOffIsNotConfirmed) {
  watch.order(now);
  watch.on_steady(now + 301ms, true);
  EXPECT_FALSE(watch.clear());
  EXPECT_TRUE(watch.unknown());
}

TEST_F(OffWatchTest, SaysNothingAboutABenchItHasNoContactWith) {
  watch.order(now);
  watch.on_steady(now + 10s, false);
  EXPECT_FALSE(watch.unknown());
}

TEST_F(OffWatchTest, NoticesARelayThatClosesAgainLater) {
  watch.order(now);
  watch.acknowledged();
  frame(false);
  now += 1h;
  frame(false);
  now += 1s;
  frame(true);
  EXPECT_FALSE(watch.confirmed());
  watch.on_steady(now, true);
  EXPECT_TRUE(watch.unknown());
}

TEST_F(OffWatchTest, IsQuietWhileTheMotorIsWanted) {
  watch.order(now);
  watch.release();
  frame(true, 10);
  watch.on_steady(now + 10s, true);
  EXPECT_FALSE(watch.unknown());
  EXPECT_FALSE(watch.send_due(now + 10s));
  EXPECT_FALSE(watch.confirmed());
}

}  // namespace
}  // namespace endgate::tests
