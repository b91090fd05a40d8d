#include "daemon/bench/bench_clock.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using ::testing::HasSubstr;

class BenchClockTest : public ::testing::Test {
 protected:
  ClockDefinition definition = *made_bench().clock;
  std::optional<BenchClock> clock;
  std::chrono::steady_clock::time_point steady{};
  std::uint32_t counter = 1000;
  BenchClock::Update last;

  void SetUp() override { use(definition); }
  void use(const ClockDefinition& given) {
    definition = given;
    clock.emplace(definition);
    poll(0ms, 0);
  }
  // `wall` later, the counter `ticks` further; the answer takes 1 ms.
  const BenchClock::Update& poll(std::chrono::milliseconds wall, std::int64_t ticks) {
    steady += wall;
    counter += static_cast<std::uint32_t>(ticks);
    return last = clock->read({counter, steady, steady + 1ms});
  }
  void run(int polls, std::int64_t ticks = 20) {
    for (int i = 0; i < polls && last.fault.empty(); ++i) poll(20ms, ticks);
  }
};

TEST_F(BenchClockTest, CountsMicrosecondsFromItsFirstReading) {
  EXPECT_EQ(last.time_us, 0);
  EXPECT_EQ(poll(20ms, 20).time_us, 20'000);
}

TEST_F(BenchClockTest, PassesAWrapOfTheCounterUnnoticed) {
  counter = 0xffffffffu - 50;
  use(definition);
  run(100);
  EXPECT_EQ(last.fault, "");
  EXPECT_EQ(last.time_us, 100 * 20'000);
}

TEST_F(BenchClockTest, CallsACounterThatStandsStillSick) {
  run(250);
  run(20, 0);
  EXPECT_THAT(last.fault, HasSubstr("stood still"));
}

TEST_F(BenchClockTest, CallsACounterThatStepsBackSick) {
  run(50);
  EXPECT_THAT(poll(20ms, -5).fault, HasSubstr("stepped back"));
}

TEST_F(BenchClockTest, CallsACounterThatJumpsSick) {
  run(50);
  EXPECT_THAT(poll(20ms, 5000).fault, HasSubstr("jumped ahead"));
}

TEST_F(BenchClockTest, CallsARestartedCounterSick) {
  counter = 1'000'000;
  use(definition);
  run(50);
  counter = 0;
  EXPECT_FALSE(poll(20ms, 0).fault.empty());
}

TEST_F(BenchClockTest, CallsACounterThatLeavesItsRateSick) {
  run(200, 18);  // 0.90
  EXPECT_THAT(last.fault, HasSubstr("of its declared rate"));
  use(definition);
  last.fault.clear();
  run(200, 22);  // 1.10
  EXPECT_THAT(last.fault, HasSubstr("of its declared rate"));
}

TEST_F(BenchClockTest, BelievesRatesInsideTheAllowedRange) {
  for (const std::int64_t permille : {960, 1000, 1040}) {
    use(definition);
    std::int64_t done = 0;
    for (std::int64_t i = 1; i <= 1000; ++i) {
      const std::int64_t due = i * 20 * permille / 1000;
      poll(20ms, due - done);
      done = due;
    }
    EXPECT_EQ(last.fault, "") << permille;
  }
}

TEST_F(BenchClockTest, MeasuresAgainstTheDeclaredRate) {
  definition.declared_rate = 20;
  use(definition);
  run(200, 400);
  EXPECT_EQ(last.fault, "");
  run(300, 300);
  EXPECT_THAT(last.fault, HasSubstr("of its declared rate"));
}

TEST_F(BenchClockTest, DoesNotAccuseTheDeviceWhenOurOwnProcessWasLate) {
  run(100);
  // The request was sent on time and answered on time; we read the answer 400 ms late.
  counter += 20;
  steady += 20ms;
  EXPECT_EQ(clock->read({counter, steady, steady + 400ms}).fault, "");
  steady += 400ms;
  EXPECT_EQ(poll(20ms, 420).fault, "");
}

TEST_F(BenchClockTest, NeverGivesAnEarlierTimeAfterAFault) {
  run(50);
  const std::int64_t before = last.time_us;
  poll(20ms, -900);
  EXPECT_GT(last.time_us, before);
  const std::int64_t restarted = last.time_us;
  EXPECT_EQ(poll(20ms, 20).time_us, restarted + 20'000);
}

TEST_F(BenchClockTest, IsSettledAfterHalfASecondOfBelievedReadings) {
  EXPECT_FALSE(clock->settled());
  run(27);
  EXPECT_TRUE(clock->settled());
  poll(20ms, -5);
  EXPECT_FALSE(clock->settled());
}

TEST_F(BenchClockTest, ContinuesFromTheSteadyClockAfterTheDeviceWasAway) {
  run(50);
  clock->start_over();
  counter = 7;
  poll(2s, 0);
  EXPECT_EQ(last.fault, "");
  EXPECT_NEAR(static_cast<double>(last.time_us), 3e6, 5e3);
}

TEST(BenchClockWithoutCounter, IsTheSteadyClock) {
  BenchClock clock(std::nullopt);
  const std::chrono::steady_clock::time_point start{100s};
  EXPECT_EQ(clock.read(start).time_us, 0);
  EXPECT_EQ(clock.read(start + 3s).time_us, 3'000'000);
  EXPECT_TRUE(clock.settled());
}

}  // namespace
}  // namespace endgate::tests
