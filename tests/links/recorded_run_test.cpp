// A run of two holds, played: what follows the clock, what follows the commands.

#include "daemon/links/recorded_run.h"

#include <gmock/gmock.h>

#include <cmath>
#include <sstream>

namespace endgate::daemon {
namespace {

using ::testing::AllOf;
using ::testing::Each;
using ::testing::Ge;
using ::testing::HasSubstr;
using ::testing::Le;

constexpr std::size_t kMotor = 0, kBackPressure = 1, kVent = 2;
constexpr std::size_t kPressure = 0, kCurrent = 1;
constexpr int kSecond = 1'000'000;

// The pressure is the recorded time in milliseconds, so that it says which row is shown.
//
//   0 s off | 2 s motor on, 200 kPa | 5 s 400 kPa | 8 s off | 9 s vented | 10 s end
std::string two_holds() {
  std::ostringstream text;
  text << "time_s,pressure,current,set_motor_relay,set_back_pressure,set_vent\n";
  for (int ms = 0; ms < 10'000; ms += 10) {
    const bool on = ms >= 2000 && ms < 8000;
    text << ms / 1000.0 << "," << ms << "," << (on ? 8 : 0) << "," << on << ","
         << (ms < 2000 || ms >= 9000 ? 0
             : ms < 5000             ? 200'000
                                     : 400'000)
         << "," << (ms < 2000 || ms >= 9000) << "\n";
  }
  return text.str();
}

RecordedRun opened(const std::string& text) {
  RecordedRun run(std::make_unique<std::istringstream>(text), {"pressure", "current"},
                  {"motor_relay", "back_pressure", "vent", "seal_fill"});
  while (!run.look_through(7)) {
  }
  return run;
}

RecordedRun in_first_hold() {
  RecordedRun run = opened(two_holds());
  EXPECT_EQ(run.fault(), "");
  run.command(kBackPressure, 200'000);
  run.command(kVent, 0);
  run.command(kMotor, 1);
  return run;
}

TEST(RecordedRun, RunsWithTheClock) {
  RecordedRun run = in_first_hold();
  EXPECT_EQ(run.value(kPressure), 2000);
  run.play(999'000);
  EXPECT_EQ(run.value(kPressure), 2990) << "the newest row that is not later";
  run.play(1000);
  EXPECT_EQ(run.value(kPressure), 3000);
}

TEST(RecordedRun, WaitsAtItsBeginningWithTheMotorOffAndItsNoiseAlive) {
  RecordedRun run = opened(two_holds());
  std::vector<double> seen;
  for (int i = 0; i < 1000; ++i) {
    run.play(10'000);
    if (i > 300) seen.push_back(run.value(kPressure));
    ASSERT_EQ(run.value(kCurrent), 0);
  }
  EXPECT_THAT(seen, Each(AllOf(Ge(980), Le(1990)))) << "of its last second";
  for (std::size_t i = 1; i < seen.size(); ++i)
    ASSERT_LE(std::abs(seen[i] - seen[i - 1]), 20) << "backwards and forwards, no leap";
  EXPECT_GT(*std::ranges::max_element(seen) - *std::ranges::min_element(seen), 900);
}

TEST(RecordedRun, StaysInAHoldUntilTheNextOneIsCommanded) {
  RecordedRun run = in_first_hold();
  run.play(20 * kSecond);
  EXPECT_LT(run.value(kPressure), 5000);
  run.command(kBackPressure, 400'000);
  EXPECT_EQ(run.value(kPressure), 5000);
}

TEST(RecordedRun, GoesOnWhereItIsWhenTheCommandComesEarly) {
  RecordedRun run = in_first_hold();
  run.play(kSecond);
  run.command(kBackPressure, 400'000);
  EXPECT_EQ(run.value(kPressure), 5000) << "the rest of the hold was not wanted";
}

TEST(RecordedRun, ObeysMotorOffWhereverItIs) {
  RecordedRun run = in_first_hold();
  run.play(kSecond);
  run.command(kMotor, 0);
  EXPECT_EQ(run.value(kCurrent), 0);
  EXPECT_EQ(run.value(kPressure), 8000);
  for (int i = 0; i < 500; ++i) {
    run.play(100'000);
    ASSERT_EQ(run.value(kCurrent), 0) << "whatever the recording did next";
  }
}

TEST(RecordedRun, BeginsAgainForTheNextUnit) {
  RecordedRun run = in_first_hold();
  run.command(kMotor, 0);
  run.command(kBackPressure, 0);
  run.command(kVent, 1);
  EXPECT_EQ(run.value(kPressure), 9000);
  run.play(2 * kSecond);
  EXPECT_LT(run.value(kPressure), 2000) << "round the end";
  run.command(kMotor, 1);
  EXPECT_EQ(run.value(kPressure), 2000);
}

TEST(RecordedRun, LeavesAloneWhatItWasNeverCommanded) {
  RecordedRun run = in_first_hold();
  run.command(kBackPressure, 777'000);
  run.command(3, 1);  // no such column
  run.play(20 * kSecond);
  EXPECT_LT(run.value(kPressure), 5000);
  EXPECT_EQ(run.fault(), "");
}

// Of a voltage both are known, what was set and what was measured, and they are two columns.
TEST(RecordedRun, AChannelWithTheNameOfAnActuatorIsNoCommand) {
  RecordedRun run(std::make_unique<std::istringstream>(
                      "time_s,back_pressure,set_motor_relay\n0,1,0\n0.1,2,0\n0.2,3,0\n"),
                  {"back_pressure"}, {"motor_relay", "back_pressure"});
  while (!run.look_through(7)) {
  }
  run.play(100'000);
  EXPECT_EQ(run.value(0), 2) << "it goes on though nobody commanded 2";
}

TEST(RecordedRun, AMissingValueIsMissingAndAnEmptyCellIsNothingNew) {
  RecordedRun run = opened(
      "time_s,pressure,current,set_motor_relay\r\n0,1,2,0\r\n0.1,,none,0\r\n0.2,3,,0\r\n0.3,,4,0\r\n");
  run.play(100'000);
  EXPECT_EQ(run.value(kPressure), 1);
  EXPECT_TRUE(std::isnan(run.value(kCurrent)));
  run.play(100'000);
  EXPECT_EQ(run.value(kPressure), 3);
  EXPECT_TRUE(std::isnan(run.value(kCurrent)));
  run.play(99'000);
  EXPECT_TRUE(std::isnan(run.value(kCurrent)));
}

TEST(RecordedRun, SaysWhyAFileCannotBePlayed) {
  const auto why = [](const std::string& text) { return opened(text).fault(); };
  const std::string names = "time_s,pressure,current,set_motor_relay\n";
  EXPECT_THAT(why(""), HasSubstr("expected a line of names"));
  EXPECT_THAT(why("pressure,time_s\n"), HasSubstr("\"time_s\" as the first name"));
  EXPECT_EQ(why("time_s,flow\n0,1\n"), "it has no column pressure, current, set_motor_relay");
  EXPECT_EQ(why(names), "it has no rows");
  EXPECT_EQ(why(names + "0,1,2,1\n"), "it begins with the motor on");
  EXPECT_EQ(why(names + "0,1,2,\n"), "its first row does not say what was commanded");
  EXPECT_THAT(why(names + "0,1,2,0\n0,1,2,0\n"), HasSubstr("line 3: expected a time above"));
  EXPECT_THAT(why(names + "0,1,2,0\n1,1,2\n"), HasSubstr("line 3: expected 4 cells"));
  EXPECT_THAT(why(names + "0,1,2,0\n1,1,1.2.3,0\n"), HasSubstr("line 3: expected a number"));
  EXPECT_THAT(why(names + "0,1,2,0\n1,1,nan,0\n"), HasSubstr("line 3: expected a number"));
  EXPECT_THAT(why(names + "0,1,2,0\n1,1,2"), HasSubstr("line 3: expected a line break"));
  EXPECT_THAT(why(names + std::string(9000, '1') + "\n"), HasSubstr("line 2: expected at most"));
}

// A day at 100 Hz would be 8.6 million rows: what is held must not grow with the file.
TEST(RecordedRun, HoldsOneSecondHoweverLongTheRunIs) {
  std::string text = "time_s,pressure,current,set_motor_relay\n";
  for (int i = 0; i < 200'000; ++i) text += std::to_string(i) + "e-6,1,2,0\n";
  RecordedRun run = opened(text);
  ASSERT_EQ(run.fault(), "");
  run.play(kSecond);  // all of it lies within one second, so the number of rows is the bound
  EXPECT_LE(run.rows_held(), RecordedRun::kMostKept);
}

}  // namespace
}  // namespace endgate::daemon
