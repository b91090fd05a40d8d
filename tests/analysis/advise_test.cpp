#include "analysis/advise.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/evaluate.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

// What a bench would have summed up by that moment of that step.
StepSums sums_of(const RawTrace& trace, const Context& context, const std::string& step_id,
                 double dwell_s) {
  const auto step = std::ranges::find(trace.steps, step_id, &StepMark::id);
  const std::int64_t origin = origin_us(trace);
  const double start_s = seconds_from(origin, *step->ready_us) + context.model.steady.settle_s;
  const SamplesByRole samples = calibrate(trace, context.bench);
  StepSums sums;
  sums.step_id = step_id;
  sums.kind = step->kind;
  sums.target_gauge_pa = step->target_gauge_pa;
  sums.receiver = step->receiver;
  sums.now_s = start_s + dwell_s;
  for (std::size_t i = 0; i < kRoleCount; ++i) {
    sums.dwell[i] = DwellSums(start_s);
    const Column& column = samples[i].column;
    const IndexRange range = inside(column.time_s, {start_s, sums.now_s});
    for (std::size_t k = range.first; k < range.last; ++k)
      sums.dwell[i].add(column.time_s[k], column.value[k]);
  }
  const auto at = [&](Role role, double time_s) {
    return interpolate(samples[index_of(role)].column, time_s).value_or(0);
  };
  for (double t = kBlock_s / 2; t < sums.now_s; t += kBlock_s) {
    const auto under_way = std::ranges::find_if(
        trace.steps, [&](const StepMark& mark) { return seconds_from(origin, mark.end_us) > t; });
    const bool runs = under_way != trace.steps.end() && under_way->kind != StepKind::zero;
    sums.blocks.push_back({t, at(Role::discharge_pressure, t), at(Role::flow, t),
                           at(Role::head_temperature, t), at(Role::ambient_temperature, t), runs});
  }
  return sums;
}

struct Made {
  Context context = made::context({.counts = true});
  RawTrace trace;
  explicit Made(std::uint64_t seed = 3, const made::Truth& truth = {})
      : trace(made::through_instruments(made::trace(truth, {}, made::context()), context, seed)) {}
};

void limit_flow_at_400(Context& context, double lower_m3_s) {
  Limit limit;
  limit.metric = "fad_400";
  limit.lower = lower_m3_s;
  context.limits.limits = {limit};
}

double true_flow_at_400(const Made& made) { return made::flow_m3_s({}, made.context, 400e3); }

TEST(DwellSums, AgreesWithTheEvaluationOnLevelsAndSlopesOfEveryHold) {
  for (std::uint64_t seed = 1; seed <= 5; ++seed) {
    const Made made(seed);
    const SamplesByRole samples = calibrate(made.trace, made.context.bench);
    const Evaluation evaluation = evaluate(made.trace, made.context);
    ASSERT_FALSE(evaluation.points.empty());
    for (const OperatingPoint& point : evaluation.points) {
      const std::int64_t origin = origin_us(made.trace);
      const Window window{seconds_from(origin, point.window_start_us),
                          seconds_from(origin, point.window_end_us)};
      for (const Role role : {Role::flow, Role::discharge_pressure, Role::speed,
                              Role::supply_current, Role::head_temperature}) {
        const Column& column = samples[index_of(role)].column;
        DwellSums sums(window.start_s);
        const IndexRange range = inside(column.time_s, window);
        for (std::size_t k = range.first; k < range.last; ++k)
          sums.add(column.time_s[k], column.value[k]);
        const Moments expected = moments_in(column, window, {}, 0.25).value();
        const Moments found = sums.moments(window.end_s, {}, 0.25).value();
        EXPECT_NEAR(found.mean, expected.mean, 1e-12 * std::abs(expected.mean)) << point.step_id;
        EXPECT_NEAR(found.slope_s, expected.slope_s, 1e-12 * std::abs(expected.mean));
      }
    }
  }
}

TEST(DwellSums, StatesAboutTheUncertaintyThatTheEvaluationStates) {
  Made made;
  const SamplesByRole samples = calibrate(made.trace, made.context.bench);
  const Column& column = samples[index_of(Role::flow)].column;
  const ChannelFacts& facts = made::channel(made.context, Role::flow);
  const SampleNoise noise{facts.noise_sigma_si, facts.noise_correlation_s, facts.scale};
  const Window window{30, 33};
  DwellSums sums(window.start_s);
  const IndexRange range = inside(column.time_s, window);
  for (std::size_t k = range.first; k < range.last; ++k)
    sums.add(column.time_s[k], column.value[k]);
  const Moments expected = moments_in(column, window, noise, facts.lag_s).value();
  const Moments found = sums.moments(window.end_s, noise, facts.lag_s).value();
  EXPECT_NEAR(found.u_mean / expected.u_mean, 1, 0.2);
  EXPECT_NEAR(found.u_slope_s / expected.u_slope_s, 1, 0.2);
}

TEST(DwellSums, SaysNothingOfFewerThanThreeSamples) {
  DwellSums sums(1);
  sums.add(1.1, 5);
  sums.add(1.2, 5);
  EXPECT_FALSE(sums.moments(1.3, {}, 0));
}

TEST(Advise, IsDecidedWhenTheLimitIsFarAway) {
  Made made;
  limit_flow_at_400(made.context, 0.9 * true_flow_at_400(made));
  EXPECT_EQ(advise(sums_of(made.trace, made.context, "hold_400", 2.5), made.context).kind,
            AdviceKind::decided);
}

TEST(Advise, IsDecidedForAUnitThatCertainlyFails) {
  Made made;
  limit_flow_at_400(made.context, 1.1 * true_flow_at_400(made));
  EXPECT_EQ(advise(sums_of(made.trace, made.context, "hold_400", 2.5), made.context).kind,
            AdviceKind::decided);
}

TEST(Advise, SaysThatMoreDwellCannotDecideAtTheLimitItself) {
  Made made;
  made::channel(made.context, Role::flow).calibration.u_gain_rel = 0.02;
  limit_flow_at_400(made.context, true_flow_at_400(made));
  EXPECT_EQ(advise(sums_of(made.trace, made.context, "hold_400", 2.5), made.context).kind,
            AdviceKind::cannot_decide);
}

Limit limit_on(const std::string& subject, std::optional<double> lower) {
  Limit limit;
  limit.metric = subject;
  limit.lower = lower;
  return limit;
}

AdviceKind advised_with(Made& made, Limit beside) {
  limit_flow_at_400(made.context, 0.9 * true_flow_at_400(made));
  made.context.limits.limits.push_back(std::move(beside));
  return advise(sums_of(made.trace, made.context, "hold_400", 2.5), made.context).kind;
}

// One limit that is far away does not decide a hold on which another hangs that no look can weigh.
TEST(Advise, IsNotDecidedWhileALimitItCannotWeighHangsOnTheHold) {
  for (const char* subject : {"ripple_speed_400", "fad_400~fad_800", "current_600~speed_600"}) {
    Made made;
    const bool here = std::string_view(subject).find("400") != std::string_view::npos;
    EXPECT_EQ(advised_with(made, limit_on(subject, 0)) == AdviceKind::decided, !here) << subject;
  }
}

TEST(Advise, WeighsTheIsothermalEfficiency) {
  Made made;
  EXPECT_EQ(advised_with(made, limit_on("isothermal_efficiency_400", 0.001)), AdviceKind::decided);
}

TEST(Advise, WeighsThePointsOfTheCurvesBand) {
  Made made;
  made::channel(made.context, Role::flow).calibration.u_gain_rel = 0.02;
  Limit band = limit_on("curve", std::nullopt);
  band.points = {{400e3, 0.8 * true_flow_at_400(made), {}}, {600e3, 1, {}}};
  EXPECT_EQ(advised_with(made, band), AdviceKind::decided) << "600 kPa is another hold's";
  band.points[0].lower = true_flow_at_400(made);
  EXPECT_EQ(advised_with(made, band), AdviceKind::cannot_decide);
}

TEST(Advise, WhatIsOfNoHoldKeepsNoneOpen) {
  Made made;
  EXPECT_EQ(advised_with(made, limit_on("machine_constant", 0)), AdviceKind::decided);
}

void limit_flow_at_200(Context& context, double lower_m3_s) {
  limit_flow_at_400(context, lower_m3_s);
  context.limits.limits.front().metric = "fad_200";
}

// As if no hold stood between 0 and 400 kPa.
StepSums after_hold_0(const Made& made, double dwell_s) {
  StepSums sums = sums_of(made.trace, made.context, "hold_400", dwell_s);
  const StepSums first = sums_of(made.trace, made.context, "hold_0", 2.5);
  sums.before = HoldBefore{0, first.receiver, first.now_s, first.dwell};
  return sums;
}

TEST(Advise, LooksAtLimitsBetweenTheHoldBeforeAndItself) {
  Made made;
  made::channel(made.context, Role::flow).calibration.u_gain_rel = 0.02;
  const double truth = made::flow_m3_s({}, made.context, 200e3);
  limit_flow_at_200(made.context, 0.85 * truth);
  EXPECT_EQ(advise(after_hold_0(made, 2.5), made.context).kind, AdviceKind::decided);
  limit_flow_at_200(made.context, truth);
  EXPECT_EQ(advise(after_hold_0(made, 2.5), made.context).kind, AdviceKind::cannot_decide);
}

TEST(Advise, SaysNothingOfALimitBetweenHoldsWithoutTheHoldBefore) {
  Made made;
  limit_flow_at_200(made.context, 0.85 * made::flow_m3_s({}, made.context, 200e3));
  StepSums sums = after_hold_0(made, 2.5);
  sums.before.reset();
  EXPECT_NE(advise(sums, made.context).kind, AdviceKind::decided);
}

TEST(Advise, MeetsItsTargetWhereNothingIsLimited) {
  Made made;
  made.context.limits.limits.clear();
  made::channel(made.context, Role::flow).calibration.u_gain_rel = 0.02;
  made::channel(made.context, Role::speed).calibration.u_gain_rel = 0.02;
  made::channel(made.context, Role::supply_current).calibration.u_gain_rel = 0.02;
  EXPECT_EQ(advise(sums_of(made.trace, made.context, "hold_400", 2.5), made.context).kind,
            AdviceKind::target_met);
}

TEST(Advise, KeepsOnBeforeTheLeastDwell) {
  Made made;
  limit_flow_at_400(made.context, 0.9 * true_flow_at_400(made));
  const double least = made.context.model.steady.min_window_s;
  EXPECT_EQ(advise(sums_of(made.trace, made.context, "hold_400", least - 0.1), made.context).kind,
            AdviceKind::keep_on);
}

TEST(Advise, KeepsOnWhenAChannelIsMissing) {
  Made made;
  limit_flow_at_400(made.context, 0.9 * true_flow_at_400(made));
  StepSums sums = sums_of(made.trace, made.context, "hold_400", 2.5);
  sums.dwell[index_of(Role::supply_voltage)] = {};
  EXPECT_EQ(advise(sums, made.context).kind, AdviceKind::keep_on);
  EXPECT_EQ(advise({}, made.context).kind, AdviceKind::keep_on);
}

TEST(Advise, NeverEndsAHoldWhoseFlowStillDrifts) {
  Made made;
  limit_flow_at_400(made.context, 0.5 * true_flow_at_400(made));
  StepSums sums = sums_of(made.trace, made.context, "hold_400", 2.5);
  const double start_s = sums.dwell[index_of(Role::flow)].start_s();
  for (Block& block : sums.blocks)
    if (block.time_s > start_s) block.flow_m3_s *= 1 + 0.05 * (block.time_s - start_s);
  EXPECT_EQ(advise(sums, made.context).kind, AdviceKind::keep_on);
}

}  // namespace
}  // namespace endgate::analysis
