#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "analysis/channel_health.h"
#include "analysis/commissioning_receiver.h"
#include "analysis/commissioning_thermal.h"
#include "analysis/commissioning_warm_run.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

TEST(Commissioning, LearnsConductanceAndLeakOfAReceiverFromItsDwell) {
  made::Manners dry;
  dry.relative_humidity = 0.05;
  Context context = made::context(dry);
  const RawTrace trace = made::trace({}, dry, context);
  context.bench.receivers.front().conductance_w_k *= 1.3;  // a wrong guess
  const std::vector<ChannelHealth> health = judge_channels(trace, context.bench);
  const Survey survey = survey_of(trace, context, health);
  const Survey* one = &survey;
  const auto learnt = learn_receiver(std::span(&one, 1), 0, Learn::everything);
  ASSERT_TRUE(learnt) << learnt.error().detail;
  EXPECT_NEAR(learnt->receiver.conductance_w_k, 0.5, 0.02);
  EXPECT_NEAR(learnt->leak_m3_s_pa2 / made::Truth{}.back_leak_m3_s_pa2, 1, 0.1);
  EXPECT_NEAR(learnt->start_k.front(), 0, 1);
}

TEST(Commissioning, FindsTheStartExcessAloneWhenTheConstantsAreKnown) {
  made::Manners dry;
  dry.relative_humidity = 0.05;
  const Context context = made::context(dry);
  const RawTrace trace = made::trace({}, dry, context);
  const std::vector<ChannelHealth> health = judge_channels(trace, context.bench);
  const Survey survey = survey_of(trace, context, health);
  const Survey* one = &survey;
  const auto learnt = learn_receiver(std::span(&one, 1), 0, Learn::start_only);
  ASSERT_TRUE(learnt);
  EXPECT_NEAR(learnt->receiver.conductance_w_k, 0.5, 1e-6);
  EXPECT_NEAR(learnt->start_k.front(), 0, 0.3);
}

TEST(Commissioning, RefusesATestWithoutADwell) {
  const Context context = made::context();
  RawTrace trace = made::trace({}, {}, context);
  trace.steps.resize(5);
  const std::vector<ChannelHealth> health = judge_channels(trace, context.bench);
  const Survey survey = survey_of(trace, context, health);
  const Survey* one = &survey;
  EXPECT_FALSE(learn_receiver(std::span(&one, 1), 0, Learn::everything));
  EXPECT_FALSE(learn_receiver({}, 0, Learn::everything));
}

TEST(Commissioning, RefusesAWarmRunThatDidNotWarmUp) {
  const Context context = made::context();
  const RawTrace trace = made::trace({}, {}, context);
  const std::vector<ChannelHealth> health = judge_channels(trace, context.bench);
  const Survey survey = survey_of(trace, context, health);
  const auto learnt = learn_warm_run({{{{&survey}, {}}}, {{{&survey}, {}}}});
  ASSERT_FALSE(learnt);
  EXPECT_EQ(learnt.error().kind, RefusalKind::span_too_narrow);
}

TEST(Commissioning, TheNextUnitScattersMoreThanTheMeanOfThoseSeen) {
  const Spread spread = *spread_of(std::array{1.0, 2.0, 3.0});
  EXPECT_DOUBLE_EQ(spread.mean, 2);
  EXPECT_DOUBLE_EQ(spread.sd, 1);
  EXPECT_NEAR(spread.u_next(3), std::sqrt(4.0 / 3), 1e-12);
  EXPECT_FALSE(spread_of(std::array{1.0}));
}

}  // namespace
}  // namespace endgate::analysis
