#include "daemon/bench/safety.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using analysis::BreakOff;
using ::testing::HasSubstr;

class SafetyTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ModelDefinition model = made_model();
  FrameSource source{bench};
  std::optional<Safety> safety;
  Safety::Situation situation{true, "hold_400"};

  void SetUp() override { restart(); }
  void restart() {
    safety.emplace(bench, model);
    safety->begin(source.now.arrived);
    source.follows_relay = false;
  }
  std::optional<SafetyFinding> next(const ReadBacks& read_backs = {}) {
    return safety->on_frame(source.next(), read_backs, situation);
  }
  // The first finding within so many frames.
  std::optional<SafetyFinding> within(int frames) {
    for (int i = 0; i < frames; ++i)
      if (auto found = next()) return found;
    return std::nullopt;
  }
  void limit(Role role, double value, bool upper = true) {
    OverLimit limit;
    limit.id = "limit";
    limit.role = role;
    limit.limit_si = value;
    limit.upper = upper;
    bench.over_limits = {limit};
  }
};

TEST_F(SafetyTest, FindsNothingOnAHealthyBench) { EXPECT_FALSE(within(200)); }

TEST_F(SafetyTest, NamesCoverAndEmergencyStopAtTheFirstFrame) {
  source.now.interlocks.cover_closed = false;
  EXPECT_EQ(next()->broken_off.cause, BreakOff::cover_open);
  source.now.interlocks.emergency_stop_clear = false;
  EXPECT_EQ(next()->broken_off.cause, BreakOff::emergency_stop);
  EXPECT_THAT(next()->broken_off.detail, HasSubstr("during hold_400"));
}

TEST_F(SafetyTest, ThinksNothingOfInputsTheBenchDoesNotHave) {
  source.now.interlocks = {};
  EXPECT_FALSE(within(200));
}

TEST_F(SafetyTest, TripsAtTheFirstFrameBeyondALimitWithoutDuration) {
  limit(Role::head_temperature, 380);
  restart();
  source.set(Role::head_temperature, 380);
  EXPECT_FALSE(next());  // the bound itself is allowed
  source.set(Role::head_temperature, 380.1);
  const auto found = next();
  ASSERT_TRUE(found && found->trip);
  EXPECT_EQ(found->trip->limit_id, "limit");
  EXPECT_EQ(found->trip->channel_id, "head_temperature");
  EXPECT_EQ(found->trip->value_si, 380.1);
  EXPECT_EQ(found->trip->accuses, analysis::TripAccuses::bench);
  EXPECT_FALSE(found->trip->confirmed);
}

TEST_F(SafetyTest, WaitsForALimitToHoldItsTimeWithoutABreak) {
  limit(Role::head_temperature, 380);
  bench.over_limits[0].for_s = 0.1;
  restart();
  source.set(Role::head_temperature, 390);
  EXPECT_FALSE(within(5));
  source.set(Role::head_temperature, 370);
  EXPECT_FALSE(next());
  source.set(Role::head_temperature, 390);
  EXPECT_FALSE(within(5));
  EXPECT_TRUE(next());
}

// A channel at the end of its wire reads beyond and nothing in turn; that is no way back inside.
TEST_F(SafetyTest, AMissingValueDoesNotBeginTheTimeBeyondALimitAnew) {
  limit(Role::head_temperature, 380);
  bench.over_limits[0].for_s = 0.2;
  restart();
  std::optional<SafetyFinding> found;
  for (int i = 0; i < 6 && !found; ++i) {  // 6 times 40 ms
    source.set(Role::head_temperature, 390);
    found = next();
    source.set(Role::head_temperature, std::nullopt);
    if (!found) found = next();
  }
  ASSERT_TRUE(found);
  ASSERT_TRUE(found->trip);
  EXPECT_EQ(found->trip->value_si, 390);
}

TEST_F(SafetyTest, AMissingValueAloneTripsNothing) {
  limit(Role::head_temperature, 380);
  bench.over_limits[0].for_s = 0.1;
  restart();
  source.set(Role::head_temperature, 390);
  EXPECT_FALSE(next());
  source.set(Role::head_temperature, std::nullopt);
  EXPECT_FALSE(within(10));
}

TEST_F(SafetyTest, ConfirmsATripThatASecondChannelBears) {
  limit(Role::head_temperature, 380);
  bench.over_limits[0].accuses = analysis::TripAccuses::unit;
  bench.over_limits[0].confirm_role = Role::seal_pressure;
  bench.over_limits[0].confirm_limit_si = 100;
  restart();
  source.set(Role::head_temperature, 390);
  source.set(Role::seal_pressure, 50);
  EXPECT_FALSE(next()->trip->confirmed);
  source.set(Role::seal_pressure, 200);
  const auto found = next();
  EXPECT_TRUE(found->trip->confirmed);
  EXPECT_EQ(found->trip->confirmed_by, "seal_pressure");
  EXPECT_EQ(found->trip->accuses, analysis::TripAccuses::unit);
}

TEST_F(SafetyTest, NeverConfirmsByAChannelThatIsNotHealthy) {
  limit(Role::head_temperature, 380);
  bench.over_limits[0].confirm_role = Role::seal_pressure;
  bench.over_limits[0].confirm_limit_si = 100;
  restart();
  source.set(Role::head_temperature, 390);
  source.set(Role::seal_pressure, std::nullopt);
  EXPECT_FALSE(next()->trip->confirmed);
  source.set(Role::seal_pressure, 200);
  source.set(Role::head_temperature, 900);  // beyond the sensor's range: a broken wire
  EXPECT_FALSE(next()->trip->confirmed);
}

TEST_F(SafetyTest, WatchesALowerLimitOnlyWhileTheMotorRuns) {
  limit(Role::head_temperature, 310, false);
  bench.over_limits[0].only_while_running = true;
  restart();
  situation.running = false;
  EXPECT_FALSE(within(10));
  situation.running = true;
  EXPECT_TRUE(next());
}

TEST_F(SafetyTest, WatchesTheLimitsOfTheModelToo) {
  limit(Role::head_temperature, 380);
  model.over_limits = bench.over_limits;
  bench.over_limits.clear();
  restart();
  source.set(Role::head_temperature, 390);
  EXPECT_TRUE(next());
}

TEST_F(SafetyTest, CallsAChannelSilentAfterItsTime) {
  EXPECT_FALSE(within(10));
  source.set(Role::seal_pressure, std::nullopt);
  EXPECT_FALSE(within(16));  // 0.3 s and one period of 0.02 s
  const auto found = next();
  ASSERT_TRUE(found);
  EXPECT_EQ(found->broken_off.cause, BreakOff::silence);
  EXPECT_THAT(found->broken_off.detail, HasSubstr("seal_pressure was silent for 0.3 s"));
}

TEST_F(SafetyTest, NoticesSilenceWithoutAnyFrame) {
  next();
  EXPECT_FALSE(safety->on_steady(source.now.arrived + 320ms, situation));
  const auto found = safety->on_steady(source.now.arrived + 321ms, situation);
  ASSERT_TRUE(found);
  EXPECT_EQ(found->broken_off.cause, BreakOff::silence);
}

TEST_F(SafetyTest, GivesTheRelayItsTimeToClose) {
  safety->commanded({"motor_relay", 1}, source.now.arrived);
  EXPECT_FALSE(within(15));  // 0.3 s
  const auto found = next();
  ASSERT_TRUE(found);
  EXPECT_EQ(found->broken_off.cause, BreakOff::actuator_refused);
  EXPECT_THAT(found->broken_off.detail, HasSubstr("did not close"));
}

TEST_F(SafetyTest, NoticesAtOnceThatTheRelayOpenedByItself) {
  safety->commanded({"motor_relay", 1}, source.now.arrived);
  source.now.interlocks.motor_relay_closed = true;
  EXPECT_FALSE(next());
  source.now.interlocks.motor_relay_closed = false;
  EXPECT_EQ(next()->broken_off.cause, BreakOff::actuator_refused);
}

TEST_F(SafetyTest, NamesTheLeaseWhenTheBenchSaysItLapsed) {
  safety->commanded({"motor_relay", 1}, source.now.arrived);
  source.now.interlocks.motor_relay_closed = true;
  next();
  source.now.interlocks.motor_relay_closed = false;
  source.now.interlocks.relay_latched_open = true;
  EXPECT_EQ(next()->broken_off.cause, BreakOff::lease_lost);
}

TEST_F(SafetyTest, ExpectsNothingOfTheRelayAfterOff) {
  safety->commanded({"motor_relay", 1}, source.now.arrived);
  source.now.interlocks.motor_relay_closed = true;
  next();
  safety->commanded({"motor_relay", 0}, source.now.arrived);
  source.now.interlocks.motor_relay_closed = false;
  EXPECT_FALSE(within(100));
}

TEST_F(SafetyTest, RefusesAValveWhoseReadBackDisagrees) {
  safety->commanded({"back_pressure", 400e3}, source.now.arrived);
  ReadBacks read_backs(bench.actuators.size());
  read_backs[4] = 0;
  std::optional<SafetyFinding> found;
  int frames = 0;
  while (!found && frames < 100) {
    found = next(read_backs);
    ++frames;
  }
  EXPECT_EQ(frames, 51);  // a second
  ASSERT_TRUE(found);
  EXPECT_EQ(found->broken_off.cause, BreakOff::actuator_refused);
  EXPECT_THAT(found->broken_off.detail, HasSubstr("back_pressure was set to 400000"));
}

TEST_F(SafetyTest, AcceptsAReadBackThatFollows) {
  safety->commanded({"back_pressure", 400e3}, source.now.arrived);
  ReadBacks read_backs(bench.actuators.size());
  read_backs[4] = 400e3;
  for (int i = 0; i < 100; ++i) EXPECT_FALSE(next(read_backs));
}

}  // namespace
}  // namespace endgate::tests
