// A lab trial in frames made by hand: loops, ends by value, starts anew, and memory over hours.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "daemon/bench/end_watch.h"
#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::BreakOff;
using analysis::StepEnd;
using analysis::StepKind;
using ::testing::AllOf;
using ::testing::ElementsAre;
using ::testing::EndsWith;
using ::testing::HasSubstr;

// zero, (start, on, off) x turns, vent.
ModelDefinition cycling_model(double on_s, double off_s) {
  ModelDefinition model = made_model();
  model.sequence = {made_step("zero", StepKind::zero, 0.5), made_step("start", StepKind::start, 0),
                    made_step("on", StepKind::warm_up, on_s, 400e3),
                    made_step("off", StepKind::vent, off_s), made_step("vent", StepKind::vent, 0)};
  for (StepDefinition& step : model.sequence) {
    step.limit_s = step.duration_s + 10;
    step.steady_limit_s = step.duration_s + 20;
  }
  model.whole_test_limit_s = 1e6;
  return model;
}

TrialPlan turns(int times) {
  TrialPlan plan;
  plan.loops = {{.first = 1, .last = 3, .times = times}};
  plan.long_run = true;
  return plan;
}

class TrialTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ModelDefinition model = cycling_model(2, 2);
  TrialPlan plan = turns(3);
  FrameSource source{bench};
  std::optional<TestRun> run;
  std::vector<analysis::RawTrace> pieces;
  std::size_t most_held = 0;
  double head_k = 293;

  void begin() {
    run.emplace(bench, model, std::vector<analysis::ChannelCalibration>{}, plan);
    source.obey(run->begin(source.next()).commands);
  }
  // One frame later; the head warms toward 420 K while the motor runs, and cools in a rest.
  void next() {
    const bool runs = source.now.value(Role::speed).value_or(0) > 20;
    head_k += 0.02 / tau_s * ((runs ? 420 : 293) - head_k);
    source.set(Role::head_temperature, head_k);
    source.obey(run->on_frame(source.next()).commands);
    most_held = std::max(most_held, run->held_samples());
    if (auto piece = run->take_piece()) pieces.push_back(std::move(*piece));
  }
  FinishedTest run_to_end() {
    begin();
    for (long frames = 0; !run->finished() && frames < 3'000'000; ++frames) next();
    EXPECT_TRUE(run->finished());
    return run->finish();
  }
  static std::vector<std::string> ids(const std::vector<analysis::StepMark>& steps) {
    std::vector<std::string> list;
    for (const analysis::StepMark& step : steps) list.push_back(step.id);
    return list;
  }

  double tau_s = 5;
};

TEST_F(TrialTest, ALoopGoesRoundAsOftenAsItSays) {
  const FinishedTest test = run_to_end();
  EXPECT_THAT(ids(test.trace.steps), ElementsAre("zero", "start", "on", "off", "start", "on", "off",
                                                 "start", "on", "off", "vent"));
  EXPECT_EQ(test.trace.break_off, BreakOff::none);
  for (const analysis::StepMark& step : test.trace.steps)
    EXPECT_EQ(step.end, StepEnd::complete) << step.id;
}

TEST_F(TrialTest, ALoopEndsWithTheTurnInWhichItsTimeIsOver) {
  plan.loops[0].for_s = 6;  // a turn takes some 4.3 s
  const FinishedTest test = run_to_end();
  EXPECT_THAT(ids(test.trace.steps),
              ElementsAre("zero", "start", "on", "off", "start", "on", "off", "vent"));
  EXPECT_EQ(test.trace.steps[6].reason, "6 s of turns are over");
}

TEST_F(TrialTest, ALoopEndsWhenEveryTurnIsLikeTheOneBefore) {
  plan.loops[0].times = 50;
  plan.loops[0].steady_role = Role::head_temperature;
  plan.loops[0].steady_within_si = 1;
  const FinishedTest test = run_to_end();
  const auto turns_made = (test.trace.steps.size() - 2) / 3;
  EXPECT_GT(turns_made, 3U);
  EXPECT_LT(turns_made, 15U);
  EXPECT_THAT(test.trace.steps[test.trace.steps.size() - 2].reason,
              AllOf(HasSubstr("the highest head temperature moved by 0."), EndsWith("\u00A0K")));
}

TEST_F(TrialTest, AValueThatEndsTheTrialIsAResultAndNoFault) {
  plan.loops[0].times = 50;
  plan.ends = {{.id = "hot", .role = Role::head_temperature, .limit_si = 330, .for_s = 0.1}};
  const FinishedTest test = run_to_end();
  EXPECT_EQ(test.trace.steps.back().id, "vent");
  const analysis::StepMark& ended = test.trace.steps[test.trace.steps.size() - 2];
  EXPECT_EQ(ended.id, "on");
  EXPECT_EQ(ended.end, StepEnd::complete);
  EXPECT_THAT(ended.reason, HasSubstr("the head temperature rose above 56.85\u00A0°C, to 5"));
  EXPECT_EQ(test.trace.break_off, BreakOff::none);
  EXPECT_FALSE(test.trace.trip);
  EXPECT_FALSE(source.now.interlocks.motor_relay_closed.value());
}

TEST_F(TrialTest, ARestThatDoesNotVentStartsNoMotorAgain) {
  begin();
  for (int frames = 0; !run->finished() && frames < 20'000; ++frames) {
    const bool rests = !source.now.interlocks.motor_relay_closed.value_or(false);
    if (rests && source.now.value(Role::discharge_pressure) > 200e3)
      source.set(Role::discharge_pressure, 400e3);
    next();
  }
  ASSERT_TRUE(run->finished());
  const FinishedTest test = run->finish();
  EXPECT_EQ(test.trace.break_off, BreakOff::actuator_refused);
  EXPECT_THAT(test.trace.break_off_detail, HasSubstr("off did not end vented"));
  EXPECT_THAT(ids(test.trace.steps), ElementsAre("zero", "start", "on", "off"));
}

TEST(EndWatch, AnEndOfTheStepHidesNoEndOfTheTrial) {
  EndWatch watch(
      {{.id = "warm", .ends_trial = false, .role = Role::head_temperature, .limit_si = 300},
       {.id = "hot", .role = Role::head_temperature, .limit_si = 390}});
  Frame frame;
  frame.value_si[static_cast<std::size_t>(Role::head_temperature)] = 350.0;
  EXPECT_FALSE(watch.on_frame(frame, 2)->ends_trial);
  frame.value_si[static_cast<std::size_t>(Role::head_temperature)] = 400.0;
  EXPECT_TRUE(watch.on_frame(frame, 2)->ends_trial);
}

TEST(EndWatch, AMissingValueNeitherBeginsNorEndsTheTime) {
  EndWatch watch({{.id = "hot", .role = Role::head_temperature, .limit_si = 390, .for_s = 0.1}});
  Frame frame;
  auto& head = frame.value_si[static_cast<std::size_t>(Role::head_temperature)];
  std::optional<EndReached> reached;
  for (int i = 0; i < 3 && !reached; ++i) {
    head = 395;
    reached = watch.on_frame(frame, 2);
    frame.bench_time_us += 40'000;
    head.reset();
    EXPECT_FALSE(watch.on_frame(frame, 2)) << "no value, no end";
    frame.bench_time_us += 40'000;
  }
  EXPECT_TRUE(reached);
}

TEST_F(TrialTest, AValueMayEndAStepAlone) {
  model = cycling_model(100, 100);
  plan.ends = {{.id = "warm",
                .ends_trial = false,
                .step = 2,
                .role = Role::head_temperature,
                .limit_si = 360},
               {.id = "cool",
                .ends_trial = false,
                .step = 3,
                .role = Role::head_temperature,
                .limit_si = 320,
                .upper = false}};
  const FinishedTest test = run_to_end();
  ASSERT_EQ(test.trace.steps.size(), 11U);
  for (const std::size_t on : {2U, 5U, 8U}) {
    EXPECT_THAT(test.trace.steps[on].reason, HasSubstr("rose above 86.85"));
    EXPECT_THAT(test.trace.steps[on + 1].reason, HasSubstr("fell below 46.85"));
  }
  EXPECT_LT(test.last_sample_us - test.start_command_us, 60'000'000);
}

TEST_F(TrialTest, EachStartMayStandStillForAMomentAgain) {
  OverLimit slow;
  slow.id = "speed_min";
  slow.role = Role::speed;
  slow.limit_si = 20;
  slow.upper = false;
  slow.for_s = 0.04;
  slow.only_while_running = true;
  model.over_limits = {slow};
  EXPECT_FALSE(run_to_end().trace.trip);
}

TEST_F(TrialTest, AnOverLimitTripsInALaterTurnAsInTheFirst) {
  OverLimit hot;
  hot.id = "head_max";
  hot.role = Role::head_temperature;
  hot.limit_si = 340;
  model.over_limits = {hot};
  plan.loops[0].times = 50;
  const FinishedTest test = run_to_end();
  ASSERT_TRUE(test.trace.trip);
  EXPECT_EQ(test.trace.trip->limit_id, "head_max");
  EXPECT_GT(test.trace.steps.size(), 4U);
  EXPECT_FALSE(source.now.interlocks.motor_relay_closed.value());
}

TEST_F(TrialTest, TheLeaseIsRenewedThroughARestUntilTheMotorIsOffForGood) {
  begin();
  int rests = 0;
  while (!run->finished()) {
    const std::size_t before = run->progress().index;
    next();
    if (run->progress().index == 3 && before == 2) ++rests;
    if (run->making_safe() || run->finished()) break;
    if (run->progress().index == 3) {
      EXPECT_EQ(run->lease_wanted(), rests < 3) << rests;
    }
    if (run->progress().index == 4) {
      EXPECT_FALSE(run->lease_wanted());
    }
  }
  EXPECT_EQ(rests, 3);
}

TEST_F(TrialTest, StopInARestEndsTheTrial) {
  begin();
  while (run->progress().index != 3) next();
  source.obey(run->break_off(BreakOff::stopped_by_person, "stopped by Ada").commands);
  for (int i = 0; i < 5000 && !run->finished(); ++i) next();
  EXPECT_EQ(run->finish().trace.break_off, BreakOff::stopped_by_person);
}

TEST_F(TrialTest, PiecesPutTogetherAreTheWholeTrace) {
  model = cycling_model(400, 300);
  plan = turns(1);
  const FinishedTest test = run_to_end();
  pieces.push_back(*test.last_piece);
  ASSERT_GT(pieces.size(), 2U);
  std::vector<analysis::StepMark> marks;
  std::vector<std::int64_t> times;
  for (const analysis::RawTrace& piece : pieces) {
    marks.insert(marks.end(), piece.steps.begin(), piece.steps.end());
    times.insert(times.end(), piece.channels[0].time_us.begin(), piece.channels[0].time_us.end());
  }
  EXPECT_EQ(ids(marks), ids(test.trace.steps));
  ASSERT_GT(times.size(), 2U);
  EXPECT_EQ(times.front(), test.start_command_us);
  EXPECT_EQ(times.back(), test.last_sample_us);
  for (std::size_t i = 1; i < times.size(); ++i) ASSERT_EQ(times[i] - times[i - 1], 20'000) << i;
}

TEST_F(TrialTest, TenHoursHoldNoMoreSamplesThanOneHour) {
  tau_s = 600;
  plan.keep_every_s = 1;
  model = cycling_model(1800, 1800);
  plan.loops[0].times = 1;
  (void)run_to_end();
  const std::size_t in_an_hour = most_held;
  pieces.clear();
  most_held = 0;
  source = FrameSource(bench);
  plan.loops[0].times = 10;
  const FinishedTest test = run_to_end();
  EXPECT_GT(test.last_sample_us - test.start_command_us, 36'000'000'000);
  EXPECT_GE(pieces.size(), 119U);  // one in five minutes
  // Between measurements a digest of at most 4096 samples a channel and the piece under way.
  const std::size_t channels = bench.channels.size();
  EXPECT_LE(most_held, TestRun::kPieceSamples + channels * Digest::kMostSamples);
  EXPECT_LE(most_held, in_an_hour + channels * Digest::kMostSamples / 2);
  for (const analysis::RawChannel& channel : test.trace.channels) {
    EXPECT_GE(channel.time_us.size(), Digest::kMostSamples / 2);
    EXPECT_LE(channel.time_us.size(), Digest::kMostSamples);
    EXPECT_LT(test.last_sample_us - channel.time_us.back(), 60'000'000);
  }
}

TEST_F(TrialTest, RunsAndRestsAreThinnedAfterTenSecondsAndStartsAreNot) {
  plan.keep_every_s = 1;
  model = cycling_model(100, 20);
  plan.loops[0].times = 1;
  const FinishedTest test = run_to_end();
  const analysis::StepMark& on = test.trace.steps[2];
  std::size_t early = 0;
  std::size_t late = 0;
  pieces.push_back(*test.last_piece);
  for (const analysis::RawTrace& piece : pieces)
    for (const std::int64_t time_us : piece.channels[0].time_us) {
      if (time_us <= on.start_us || time_us > on.end_us) continue;
      (time_us <= on.start_us + 10'000'000 ? early : late) += 1;
    }
  EXPECT_EQ(early, 500U);
  EXPECT_NEAR(static_cast<double>(late), 90, 1);
}

}  // namespace
}  // namespace endgate::tests
