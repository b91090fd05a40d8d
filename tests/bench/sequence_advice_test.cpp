// Advice, and a step that runs beside others.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/bench/sequence.h"
#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::Advice;
using analysis::AdviceKind;
using analysis::BreakOff;
using analysis::StepEnd;
using ::testing::HasSubstr;

constexpr std::size_t kHold0 = 3, kHold400 = 4, kBackLeak = 5, kSealLeak = 6;

class SequenceAdviceTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ModelDefinition model = made_model();
  FrameSource source{bench};
  std::unique_ptr<Sequence> sequence;
  std::vector<ActuatorCommand> all;

  void SetUp() override {
    for (std::size_t hold : {kHold0, kHold400}) model.sequence[hold].hold_min_s = 2.5;
  }
  void take(const SequenceOutput& out) {
    source.obey(out.commands);
    all.insert(all.end(), out.commands.begin(), out.commands.end());
  }
  void next() { take(sequence->on_frame(source.next())); }
  void begin() {
    sequence = std::make_unique<Sequence>(bench, model);
    take(sequence->begin(source.next()));
  }
  void run_to(std::size_t index) {
    for (int i = 0; i < 5000 && !sequence->finished() && sequence->progress().index < index; ++i)
      next();
  }
  void run_for(double seconds) {
    for (int i = 0; i < std::lround(seconds / 0.02); ++i) next();
  }
  const analysis::StepMark& mark(const std::string& id) const {
    const auto found = std::ranges::find(sequence->steps(), id, &analysis::StepMark::id);
    EXPECT_NE(found, sequence->steps().end()) << id;
    return *found;
  }
  double length_s(const std::string& id) const {
    return static_cast<double>(mark(id).end_us - mark(id).start_us) * 1e-6;
  }
  bool is_over(const std::string& id) const {
    return std::ranges::find(sequence->steps(), id, &analysis::StepMark::id) !=
           sequence->steps().end();
  }
};

TEST_F(SequenceAdviceTest, EndsAHoldWithTheAdviceAndKeepsWhatWasAdvised) {
  begin();
  run_to(kHold0);
  run_for(1.7);  // settle 1 s and window 0.5 s are over
  sequence->on_advice({"hold_0", AdviceKind::target_met, 12.25});
  next();
  ASSERT_TRUE(is_over("hold_0"));
  EXPECT_EQ(mark("hold_0").end, StepEnd::complete);
  EXPECT_EQ(mark("hold_0").reason, "target met, seen at 12.250 s");
  EXPECT_NEAR(length_s("hold_0"), 1.72, 0.03);
}

TEST_F(SequenceAdviceTest, GoesOnToItsOwnEndWithoutAdvice) {
  begin();
  run_to(kHold400);
  EXPECT_NEAR(length_s("hold_0"), 2.52, 0.05);
  EXPECT_TRUE(mark("hold_0").reason.empty());
}

TEST_F(SequenceAdviceTest, EndsALeakTestWithTheAdviceNotBeforeItsValveIsShut) {
  model.sequence[kBackLeak].duration_s = 8;
  begin();
  run_to(kBackLeak);
  sequence->on_advice({"back_leak", AdviceKind::decided, 20});
  next();
  EXPECT_FALSE(is_over("back_leak")) << "nothing is watched yet";
  run_for(3);
  sequence->on_advice({"back_leak", AdviceKind::decided, 23.5});
  next();
  ASSERT_TRUE(is_over("back_leak"));
  EXPECT_EQ(mark("back_leak").reason, "decided, seen at 23.500 s");
  EXPECT_LT(length_s("back_leak"), 5);
}

TEST_F(SequenceAdviceTest, KeepsOnWhenToldTo) {
  begin();
  run_to(kHold0);
  run_for(1.7);
  sequence->on_advice({"hold_0", AdviceKind::keep_on, 5});
  next();
  EXPECT_FALSE(is_over("hold_0"));
}

TEST_F(SequenceAdviceTest, TakesNoAdviceForAnotherStep) {
  begin();
  run_to(kHold0);
  run_for(1.7);
  sequence->on_advice({"hold_400", AdviceKind::decided, 5});
  next();
  EXPECT_FALSE(is_over("hold_0"));
  run_to(kHold400);
  run_for(0.5);
  sequence->on_advice({"hold_0", AdviceKind::decided, 5});  // late
  run_for(1.5);
  EXPECT_FALSE(is_over("hold_400"));
}

TEST_F(SequenceAdviceTest, NeverEndsAHoldBeforeItsLeastWindow) {
  begin();
  run_to(kHold0);
  run_for(1.1);
  sequence->on_advice({"hold_0", AdviceKind::decided, 5});
  next();
  EXPECT_FALSE(is_over("hold_0"));
  run_for(0.5);
  EXPECT_TRUE(is_over("hold_0"));
}

TEST_F(SequenceAdviceTest, TakesNoAdviceOnceTheTestIsBrokenOff) {
  begin();
  run_to(kHold0);
  run_for(1.7);
  take(sequence->break_off(BreakOff::stopped_by_person, "stopped", source.now.bench_time_us));
  sequence->on_advice({"hold_0", AdviceKind::decided, 5});
  next();
  EXPECT_EQ(mark("hold_0").end, StepEnd::broken_off);
}

class SequenceBesideTest : public SequenceAdviceTest {
 protected:
  void SetUp() override {
    SequenceAdviceTest::SetUp();
    model.sequence[kSealLeak].begins_with = "hold_400";
    model.sequence[kSealLeak].limit_s = 30;
    model.sequence[kSealLeak].steady_limit_s = 45;
  }
  double last(const std::string& actuator) const {
    double value = -1;
    for (const ActuatorCommand& each : all)
      if (each.actuator == actuator) value = each.value_si;
    return value;
  }
};

TEST_F(SequenceBesideTest, FillsTheHousingWhileTheHoldRuns) {
  begin();
  run_to(kHold400);
  EXPECT_EQ(last("seal_fill"), 1);
  EXPECT_EQ(last("vent"), 0);
  EXPECT_TRUE(sequence->motor_should_run());
}

TEST_F(SequenceBesideTest, OverlapsInTheTraceAndIsNotRunTwice) {
  begin();
  run_to(1000);
  ASSERT_TRUE(sequence->finished());
  EXPECT_EQ(sequence->steps().size(), model.sequence.size());
  EXPECT_EQ(mark("seal_leak").start_us, mark("hold_400").start_us);
  EXPECT_EQ(mark("seal_leak").end, StepEnd::complete);
  ASSERT_TRUE(mark("seal_leak").ready_us);
  EXPECT_NEAR(static_cast<double>(mark("seal_leak").end_us - *mark("seal_leak").ready_us) * 1e-6,
              1.5, 0.03);
  EXPECT_EQ(last("seal_vent"), 1);
}

TEST_F(SequenceBesideTest, WatchesTheHousingOnlyOnceTheMotorStands) {
  model.sequence[kHold400].hold_min_s = model.sequence[kHold400].duration_s =
      6;  // longer than the fill
  begin();
  run_to(1000);
  ASSERT_TRUE(mark("seal_leak").ready_us);
  EXPECT_GE(*mark("seal_leak").ready_us, mark("hold_400").end_us);
  EXPECT_LE(*mark("seal_leak").ready_us, mark("hold_400").end_us + 40'000);
}

TEST_F(SequenceBesideTest, LeavesTheBackLeakItsPressure) {
  begin();
  run_to(kBackLeak);
  run_for(1);
  EXPECT_EQ(last("vent"), 0);
  EXPECT_EQ(last("seal_fill"), 0);  // shut meanwhile
}

TEST_F(SequenceBesideTest, IsWaitedForAtItsOwnPlace) {
  model.sequence[kSealLeak].duration_s = 12;
  begin();
  run_to(kSealLeak);
  EXPECT_TRUE(is_over("back_leak"));
  EXPECT_EQ(sequence->progress().index, kSealLeak);
  EXPECT_FALSE(is_over("seal_leak"));
  EXPECT_EQ(last("vent"), 1);  // nobody needs the receiver any more
  run_to(1000);
  EXPECT_EQ(mark("seal_leak").end, StepEnd::complete);
  EXPECT_EQ(mark("vent").start_us, mark("seal_leak").end_us);
}

TEST_F(SequenceBesideTest, EndsByItsOwnLimitWhenTheHousingDoesNotFill) {
  source.seal_reaches_pa = 1e3;
  model.sequence[kSealLeak].limit_s = 4;
  begin();
  run_to(1000);
  EXPECT_EQ(mark("seal_leak").end, StepEnd::bench_time_limit);
  EXPECT_NEAR(length_s("seal_leak"), 4, 0.05);
  EXPECT_THAT(mark("seal_leak").reason, HasSubstr("could not be filled"));
  EXPECT_EQ(mark("back_leak").end, StepEnd::complete);
}

TEST_F(SequenceBesideTest, IsBrokenOffWithTheStepItRunsBeside) {
  begin();
  run_to(kHold400);
  run_for(0.5);
  const SequenceOutput out =
      sequence->break_off(BreakOff::cover_open, "why", source.now.bench_time_us);
  EXPECT_EQ(out.ended.size(), 2u);
  take(out);
  run_to(1000);
  EXPECT_TRUE(sequence->finished());
  EXPECT_EQ(mark("seal_leak").end, StepEnd::broken_off);
  EXPECT_EQ(sequence->steps().back().id, "hold_400");
  EXPECT_EQ(last("seal_vent"), 1);
}

}  // namespace
}  // namespace endgate::tests
