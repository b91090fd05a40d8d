#include "daemon/bench/step_watch.h"

#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

class StepWatchTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ChannelTable channels{bench, {}};
  StepWatch watch{channels, {1.0, 0.5, 0.005}};
  Frame frame;

  StepWatchTest() {
    for (const Role role :
         {Role::discharge_pressure, Role::flow, Role::head_temperature, Role::ambient_temperature})
      set(role, 300);
  }

  void set(Role role, std::optional<double> value) {
    frame.value_si[static_cast<std::size_t>(role)] = value;
  }
  void next(const analysis::StepMark& step) {
    frame.bench_time_us += 20'000;
    watch.on_frame(frame, step, nullptr);
  }
};

analysis::StepMark mark(const char* id, analysis::StepKind kind, double target_gauge_pa) {
  analysis::StepMark step;
  step.id = id;
  step.kind = kind;
  step.target_gauge_pa = target_gauge_pa;
  step.ready_us = 20'000;
  return step;
}

// The noise of a look is taken as that of a mean.
TEST_F(StepWatchTest, ABlockIsTheMeanOfEveryPressureInIt) {
  const analysis::StepMark step = mark("seal_leak", analysis::StepKind::seal_leak, 20e3);
  std::optional<analysis::StepSums> look;
  for (int i = 0; i < 1000 && !look; ++i) {
    set(Role::seal_pressure, 20e3 + (i % 2 == 0 ? 100 : -100));
    set(Role::discharge_pressure, 5e3 + (i % 2 == 0 ? 100 : -100));
    next(step);
    look = watch.look();
  }
  ASSERT_TRUE(look);
  ASSERT_GT(look->blocks.size(), 20U);
  for (const analysis::Block& block : look->blocks) {
    EXPECT_NEAR(block.gauge_pa, 5e3, 40);
    EXPECT_NEAR(block.seal_gauge_pa.value_or(0), 20e3, 40);
  }
}

TEST_F(StepWatchTest, ABlockWithoutASealPressureHasNone) {
  const analysis::StepMark step = mark("hold_0", analysis::StepKind::hold, 0);
  std::optional<analysis::StepSums> look;
  for (int i = 0; i < 200 && !look; ++i) {
    next(step);
    look = watch.look();
  }
  ASSERT_TRUE(look);
  for (const analysis::Block& block : look->blocks) EXPECT_FALSE(block.seal_gauge_pa);
}

TEST_F(StepWatchTest, AHoldKnowsTheHoldBeforeIt) {
  analysis::StepMark first = mark("hold_0", analysis::StepKind::hold, 0);
  first.receiver = "small";
  std::optional<analysis::StepSums> look;
  for (int i = 0; i < 200; ++i) {
    next(first);
    if (auto seen = watch.look()) look = seen;
  }
  ASSERT_TRUE(look);
  EXPECT_FALSE(look->before);
  const double end_s = look->now_s;
  analysis::StepMark second = mark("hold_400", analysis::StepKind::hold, 400e3);
  second.ready_us = frame.bench_time_us;
  for (int i = 0; i < 200; ++i) {
    next(second);
    if (auto seen = watch.look()) look = seen;
  }
  ASSERT_TRUE(look->before);
  EXPECT_EQ(look->target_gauge_pa, 400e3);
  EXPECT_EQ(look->before->target_gauge_pa, 0);
  EXPECT_EQ(look->before->receiver, "small");
  EXPECT_GE(look->before->end_s, end_s);
  EXPECT_LT(look->before->end_s, 4.1);
}

}  // namespace
}  // namespace endgate::tests
