#include "daemon/bench/test_run.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using analysis::BreakOff;

class TestRunTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ModelDefinition model = made_model();
  FrameSource source{bench};
  std::optional<TestRun> run;

  SequenceOutput begin() {
    run.emplace(bench, model, std::vector<analysis::ChannelCalibration>{});
    return obeyed(run->begin(source.next()));
  }
  SequenceOutput next() { return obeyed(run->on_frame(source.next())); }
  SequenceOutput obeyed(SequenceOutput out) {
    source.obey(out.commands);
    return out;
  }
  void run_to(std::size_t index) {
    for (int i = 0; i < 5000 && !run->finished() && run->progress().index < index; ++i) next();
  }
};

TEST_F(TestRunTest, HandsOverAWholeTest) {
  source.now.bench_time_us = 5'000'000;
  begin();
  run_to(1000);
  ASSERT_TRUE(run->finished());
  const FinishedTest test = run->finish();
  EXPECT_EQ(test.start_command_us, 5'020'000);
  EXPECT_EQ(test.last_sample_us, source.now.bench_time_us);
  EXPECT_EQ(test.last_sample_at, source.now.arrived);
  EXPECT_EQ(test.trace.steps.size(), model.sequence.size());
  EXPECT_EQ(test.trace.break_off, BreakOff::none);
  ASSERT_EQ(test.trace.channels.size(), bench.channels.size());
  for (const analysis::RawChannel& channel : test.trace.channels) {
    EXPECT_EQ(channel.time_us.front(), test.start_command_us);
    EXPECT_EQ(channel.time_us.back(), test.last_sample_us);
    EXPECT_TRUE(std::is_sorted(channel.time_us.begin(), channel.time_us.end(),
                               std::less_equal<std::int64_t>()));
  }
}

TEST_F(TestRunTest, WantsTheLeaseFromTheStartUntilMotorOff) {
  begin();
  EXPECT_TRUE(run->lease_wanted());
  run_to(4);
  EXPECT_TRUE(run->lease_wanted());
  run_to(5);  // back leak
  EXPECT_FALSE(run->lease_wanted());
  run_to(1000);
  EXPECT_FALSE(run->lease_wanted());
}

TEST_F(TestRunTest, WantsNoLeaseOnceTheTestIsBroken) {
  begin();
  run_to(3);
  obeyed(run->break_off(BreakOff::stopped_by_person, "stopped by A"));
  EXPECT_FALSE(run->lease_wanted());
}

TEST_F(TestRunTest, TripsOnAnOverLimitWithMotorOffFirst) {
  OverLimit limit;
  limit.id = "supply_current_max";
  limit.role = Role::supply_current;
  limit.limit_si = 5;
  limit.accuses = analysis::TripAccuses::unit;
  bench.over_limits = {limit};
  begin();
  SequenceOutput out;
  for (int i = 0; i < 500 && out.ended.size() + out.commands.size() < 3; ++i) {
    out = next();
    if (!out.ended.empty() && out.ended[0].end == analysis::StepEnd::tripped) break;
    out = {};
  }
  ASSERT_FALSE(out.commands.empty());
  EXPECT_EQ(out.commands[0].actuator, "motor_relay");
  EXPECT_EQ(out.commands[0].value_si, 0);
  run_to(1000);
  const FinishedTest test = run->finish();
  ASSERT_TRUE(test.trace.trip);
  EXPECT_EQ(test.trace.trip->limit_id, "supply_current_max");
  EXPECT_EQ(test.trace.break_off, BreakOff::none);
}

TEST_F(TestRunTest, BreaksOffWhenFramesStopComing) {
  begin();
  run_to(3);
  EXPECT_TRUE(run->on_steady(source.now.arrived + 200ms).commands.empty());
  const SequenceOutput out = run->on_steady(source.now.arrived + 400ms);
  ASSERT_FALSE(out.commands.empty());
  EXPECT_EQ(out.commands[0].actuator, "motor_relay");
  EXPECT_FALSE(run->finished());
  static_cast<void>(run->on_steady(source.now.arrived + 11s));
  EXPECT_TRUE(run->finished());  // given up on
  EXPECT_EQ(run->finish().trace.break_off, BreakOff::silence);
}

TEST_F(TestRunTest, RecordsNothingAfterTheClockWasSick) {
  begin();
  run_to(3);
  const std::int64_t last_good = source.now.bench_time_us;
  obeyed(run->break_off(BreakOff::clock_sick, "jumped"));
  for (int i = 0; i < 50; ++i) next();
  EXPECT_EQ(run->finish().last_sample_us, last_good);
}

TEST_F(TestRunTest, KeepsTheSamplesWhileTheBenchIsMadeSafe) {
  begin();
  run_to(5);
  const std::int64_t stopped = source.now.bench_time_us;
  obeyed(run->break_off(BreakOff::stopped_by_person, "stopped by A"));
  run_to(1000);
  EXPECT_GT(run->finish().last_sample_us, stopped);
}

TEST_F(TestRunTest, WatchesARunningLimitOnlyAfterTheStart) {
  OverLimit floor;
  floor.id = "speed_floor";
  floor.role = Role::speed;
  floor.limit_si = 15;
  floor.upper = false;
  floor.only_while_running = true;
  bench.over_limits = {floor};
  begin();
  run_to(4);
  EXPECT_EQ(run->progress().index, 4u);
  source.motor_starts = false;  // it stalls
  run_to(1000);
  EXPECT_EQ(run->finish().trace.trip.value().limit_id, "speed_floor");
}

}  // namespace
}  // namespace endgate::tests
