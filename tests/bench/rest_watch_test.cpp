// The zero of a unit tested right after another: what the last test left behind is waited for.

#include "daemon/bench/rest_watch.h"

#include <gtest/gtest.h>

#include <cmath>

#include "daemon/bench/sequence.h"
#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

constexpr double kZero_s = 1;

class ZeroOfTheNext : public ::testing::Test {
 protected:
  // How long the zero step lasts when the flow is this after so many seconds.
  template <class Flow>
  double zero_lasts_s(Flow flow_m3_s) {
    (void)sequence.begin(source.next());
    const std::int64_t start_us = source.now.bench_time_us;
    while (sequence.steps().empty()) {
      Frame frame = source.next();
      const double time_s = 1e-6 * static_cast<double>(frame.bench_time_us - start_us);
      frame.value_si[static_cast<std::size_t>(Role::flow)] = flow_m3_s(time_s);
      (void)sequence.on_frame(frame);
      if (time_s > 30) return time_s;
    }
    const analysis::StepMark& zero = sequence.steps().front();
    end = zero.end;
    return 1e-6 * static_cast<double>(zero.end_us - zero.start_us);
  }

  static ModelDefinition model_with_zero() {
    ModelDefinition model = made_model();
    model.sequence.front().duration_s = kZero_s;
    return model;
  }

  BenchDefinition bench = made_bench();
  ModelDefinition model = model_with_zero();
  FrameSource source{bench};
  Sequence sequence{bench, model};
  analysis::StepEnd end = analysis::StepEnd::bench_time_limit;
};

TEST_F(ZeroOfTheNext, LastsAsLongAsTheModelSaysWhereAllIsAtRest) {
  EXPECT_NEAR(zero_lasts_s([](double) { return 2e-6; }), kZero_s, 0.1);
  EXPECT_EQ(end, analysis::StepEnd::complete);
}

TEST_F(ZeroOfTheNext, WaitsForAMeterWhoseReadingStillDiesAway) {
  const double lasted_s =
      zero_lasts_s([](double time_s) { return 5e-4 * std::exp(-time_s / 0.3); });
  EXPECT_GT(lasted_s, 1.5);
  EXPECT_LT(lasted_s, 5);
  EXPECT_EQ(end, analysis::StepEnd::complete);
}

TEST_F(ZeroOfTheNext, GoesOnAtItsLimitWithAMeterThatNeverRests) {
  const double lasted_s = zero_lasts_s([](double time_s) { return 1e-4 - 5e-6 * time_s; });
  EXPECT_NEAR(lasted_s, model.sequence.front().limit_s, 0.1);
  EXPECT_EQ(end, analysis::StepEnd::complete) << "the evaluation looks at it";
}

TEST(RestWatch, SaysNothingAgainstAChannelWithoutAValue) {
  const BenchDefinition bench = made_bench();
  RestWatch watch(bench, Role::flow);
  FrameSource source(bench);
  source.set(Role::flow, std::nullopt);
  for (int i = 0; i < 100; ++i) watch.look(bench, source.next());
  EXPECT_TRUE(watch.at_rest());
}

}  // namespace
}  // namespace endgate::tests
