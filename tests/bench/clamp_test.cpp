// A bench that closes its own fixture clamp: before the motor, until the unit stands without
// pressure, and not under somebody's hand.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::BreakOff;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

class ClampTest : public ::testing::Test {
 protected:
  ClampTest() {
    bench.actuators.push_back(valve("clamp", 110, 1, 1, {}));
    bench.interlocks.fixture_clamped = status_bit(11);
    source.now.interlocks.fixture_clamped = false;
  }
  void begin() {
    run.emplace(bench, model, std::vector<analysis::ChannelCalibration>{});
    obey(run->begin(source.next()));
  }
  void next() { obey(run->on_frame(source.next())); }
  void obey(const SequenceOutput& out) {
    for (const ActuatorCommand& each : out.commands) {
      if (each.actuator == "clamp") clamp.push_back(each.value_si);
      if (each.actuator == "clamp" && follows)
        source.now.interlocks.fixture_clamped = each.value_si > 0.5;
      if (each.actuator == "motor_relay" && each.value_si > 0.5) motor_started = true;
    }
    source.obey(out.commands);
  }
  void run_to(std::size_t index) {
    for (int i = 0; i < 5000 && !run->finished() && run->progress().index < index; ++i) next();
  }
  [[nodiscard]] bool is_open() const { return clamp.back() == 0; }

  BenchDefinition bench = made_bench();
  ModelDefinition model = made_model();
  FrameSource source{bench};
  std::optional<TestRun> run;
  std::vector<double> clamp;  // as commanded
  bool follows = true;
  bool motor_started = false;
};

TEST_F(ClampTest, IsClosedInTheZeroStepAndOpenedOnceAtTheVeryEnd) {
  begin();
  EXPECT_THAT(clamp, ElementsAre(1));
  run_to(7);
  EXPECT_THAT(clamp, ElementsAre(1)) << "closed through holds and leaks";
  run_to(1000);
  EXPECT_THAT(clamp, ElementsAre(1, 0));
  EXPECT_EQ(run->finish().trace.break_off, BreakOff::none);
}

TEST_F(ClampTest, StartsNoMotorWhileItIsReadBackOpen) {
  follows = false;
  begin();
  run_to(1000);
  EXPECT_FALSE(motor_started);
  const FinishedTest test = run->finish();
  EXPECT_EQ(test.trace.break_off, BreakOff::not_started);
  EXPECT_THAT(test.trace.break_off_detail, HasSubstr("clamp was not read back closed"));
}

TEST_F(ClampTest, ThatIsSlowDelaysTheZeroAndNothingElse) {
  follows = false;
  begin();
  for (int i = 0; i < 50; ++i) next();
  EXPECT_FALSE(run->making_safe());
  source.now.interlocks.fixture_clamped = follows = true;
  run_to(1000);
  EXPECT_EQ(run->finish().trace.break_off, BreakOff::none);
}

TEST_F(ClampTest, ThatOpensWhileTheMotorRunsEndsTheTest) {
  begin();
  run_to(3);
  source.now.interlocks.fixture_clamped = false;
  next();
  EXPECT_TRUE(run->making_safe());
  EXPECT_FALSE(run->motor_should_run());
  run_to(1000);
  EXPECT_THAT(run->finish().trace.break_off_detail, HasSubstr("the unit was unclamped during"));
}

TEST_F(ClampTest, HoldsUntilTheUnitIsVented) {
  begin();
  run_to(4);
  source.now.value_si[static_cast<std::size_t>(Role::discharge_pressure)] = 400e3;
  obey(run->break_off(BreakOff::stopped_by_person, "stopped by A"));
  while (*source.now.value(Role::discharge_pressure) > 20e3) {
    EXPECT_FALSE(is_open());
    next();
  }
  run_to(1000);
  EXPECT_TRUE(is_open());
}

TEST_F(ClampTest, HoldsUntilTheCrankStands) {
  begin();
  run_to(3);
  obey(run->break_off(BreakOff::stopped_by_person, "stopped by A"));
  for (int i = 0; i < 100; ++i) {
    source.set(Role::speed, 10);
    next();
    source.set(Role::speed, 10);
  }
  EXPECT_FALSE(is_open()) << "vented long ago, but it turns";
  run_to(1000);
  EXPECT_TRUE(is_open());
}

TEST_F(ClampTest, HoldsForSecondsWhenTheSpeedIsNotKnown) {
  begin();
  run_to(3);
  obey(run->break_off(BreakOff::stopped_by_person, "stopped by A"));
  source.set(Role::speed, std::nullopt);
  for (int i = 0; i < 200; ++i) next();  // 4 s
  EXPECT_FALSE(is_open());
  for (int i = 0; i < 100; ++i) next();
  EXPECT_TRUE(is_open());
}

TEST_F(ClampTest, StaysClosedBehindAnOpenCoverAndAPressedStop) {
  const auto ended_with = [this](std::optional<bool> Interlocks::*lock) {
    source.now.interlocks.fixture_clamped = false;
    clamp.clear();
    begin();
    run_to(3);
    source.now.interlocks.*lock = false;
    run_to(1000);
    EXPECT_TRUE(run->finished());
    source.now.interlocks.*lock = true;
    return clamp;
  };
  EXPECT_THAT(ended_with(&Interlocks::cover_closed), ElementsAre(1));
  EXPECT_THAT(ended_with(&Interlocks::emergency_stop_clear), ElementsAre(1));
}

TEST_F(ClampTest, ABenchThatIsGivenUpOnKeepsItsUnitClamped) {
  begin();
  run_to(4);
  source.follows_relay = false;  // welded: read back closed for ever
  obey(run->break_off(BreakOff::stopped_by_person, "stopped by A"));
  for (int i = 0; i < 600; ++i) next();  // 12 s
  EXPECT_TRUE(run->finished());
  EXPECT_THAT(clamp, ElementsAre(1));
}

TEST_F(ClampTest, ABenchWithAClampInputAloneIsTreatedAsBefore) {
  bench.actuators.pop_back();
  begin();
  next();
  EXPECT_TRUE(run->making_safe()) << "a person clamps, so an open one breaks off at once";
}

}  // namespace
}  // namespace endgate::tests
