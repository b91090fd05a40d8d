// A pump-up as points of the curve: analysis/ramp_windows.h, SHARED of analysis/curve.h.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/curve.h"
#include "analysis/evaluate.h"
#include "analysis/ramp_windows.h"
#include "analysis/rise_end.h"
#include "tests/analysis/found_metric.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

GasReadings rising(double from_pa, double per_sample_pa, int samples) {
  GasReadings gas;
  for (int i = 0; i < samples; ++i) {
    gas.time_s.push_back(0.02 * i);
    gas.gauge_pa.push_back(from_pa + per_sample_pa * i);
  }
  return gas;
}

TEST(RampStretches, AreCutAroundMultiplesOf200KilopascalAndTheLastEndsWithTheRise) {
  const auto stretches = ramp_stretches(rising(0, 5000, 170), {0, 3.4});  // to 845 kPa
  ASSERT_EQ(stretches.size(), 4u);
  EXPECT_NEAR(stretches[3].middle_gauge_pa, (700e3 + 845e3) / 2, 1);
  EXPECT_NEAR(stretches[3].window.end_s, 0.02 * 169, 1e-12);
  EXPECT_EQ(stretches[0].middle_gauge_pa, 200e3);
  EXPECT_EQ(stretches[2].middle_gauge_pa, 600e3);
  EXPECT_NEAR(stretches[1].window.start_s, 0.02 * 60, 1e-12);  // 300 kPa
  EXPECT_NEAR(stretches[1].window.end_s, 0.02 * 100, 1e-12);   // 500 kPa
}

TEST(RampStretches, NothingIsMadeOfARiseThatIsTooFastOrEndsTooEarly) {
  EXPECT_TRUE(ramp_stretches(rising(0, 40000, 40), {0, 0.8}).empty());
  EXPECT_TRUE(ramp_stretches(rising(0, 1000, 130), {0, 5}).empty());  // to 129 kPa
}

constexpr double kExponent = 1.25;

double on_curve(double r, double speed) {
  return speed * (1.95e-5 - 1.0e-6 * (std::pow(r, 1 / kExponent) - 1)) - 1.5e-6 * (r * r - 1);
}

// Holds at 1, 7 and 9; a rise in between that is wrong by `volumes` standard uncertainties of 0.5 %.
std::vector<CurvePoint> held_and_rising(double volumes) {
  std::vector<CurvePoint> points;
  for (const double r : {1.0, 7.0, 9.0}) points.push_back({r, 50, on_curve(r, 50), 2e-6, {0}});
  for (const double r : {3.0, 5.0, 7.0}) {
    const double moved = 0.005 * on_curve(r, 50);
    points.push_back({r, 50, on_curve(r, 50) + volumes * moved, 2e-6, {moved}});
  }
  return points;
}

TEST(CurveShared, HoldsDecideTheLevelAndTheRiseItsOwnError) {
  const Outcome<Curve> curve = fit_curve(held_and_rising(2), kExponent, LeakPrior{1.5e-6, 5e-8});
  ASSERT_TRUE(curve.has_value());
  ASSERT_EQ(curve->shared.size(), 1u);
  EXPECT_NEAR(curve->shared[0], 2, 0.4);  // drawn to 0 by its prior
  const double middle = flow_at(*curve, {.pressure_ratio = 5, .speed_rev_s = 50})->flow_m3_s;
  EXPECT_NEAR(middle / on_curve(5, 50), 1, 0.0015);
}

TEST(CurveShared, WithoutItsColumnTheErrorOfTheRiseBendsTheCurve) {
  std::vector<CurvePoint> points = held_and_rising(2);
  for (CurvePoint& point : points) point.shared_m3_s.clear();
  const Outcome<Curve> curve = fit_curve(points, kExponent, LeakPrior{1.5e-6, 5e-8});
  const double middle = flow_at(*curve, {.pressure_ratio = 5, .speed_rev_s = 50})->flow_m3_s;
  EXPECT_GT(middle / on_curve(5, 50), 1.003);
}

TEST(CurveShared, ARiseFarFromItsHoldsContradictsTheCurve) {
  EXPECT_FALSE(fit_curve(held_and_rising(1), kExponent, std::nullopt)->contradicted);
  EXPECT_TRUE(fit_curve(held_and_rising(8), kExponent, std::nullopt)->contradicted);
  EXPECT_FALSE(fit_curve(held_and_rising(3.2), kExponent, std::nullopt)->refuted);
  EXPECT_TRUE(fit_curve(held_and_rising(8), kExponent, std::nullopt)->refuted);
}

TEST(PumpUp, GivesTheFlowsBackFromExactReadings) {
  const made::Manners manners{.ramp_s = 1, .pump_up = true};
  const Context context = made::context(manners);
  const made::Truth truth;
  const Evaluation found = evaluate(made::trace(truth, manners, context), context);
  ASSERT_EQ(found.points.size(), 7u);  // three holds, four stretches
  for (const double kpa : {0.0, 200.0, 400.0, 600.0, 800.0}) {
    const std::string id = "fad_" + std::to_string(static_cast<int>(kpa));
    const double is = made::flow_m3_s(truth, context, kpa * 1e3);
    EXPECT_NEAR(metric(found, id).value.value_or(0) / is, 1, 1e-3) << id;
  }
}

TEST(PumpUp, AVolumeStatedWrongMovesTheFlowLessThanItself) {
  const made::Manners manners{.ramp_s = 1, .pump_up = true};
  Context context = made::context(manners);
  const made::Truth truth;
  const RawTrace trace = made::trace(truth, manners, context);
  context.bench.receivers.front().volume_m3 *= 1.005;  // one of its u
  const Evaluation found = evaluate(trace, context);
  const double is = made::flow_m3_s(truth, context, 400e3);
  EXPECT_NEAR(metric(found, "fad_400").value.value_or(0) / is, 1, 2.5e-3);
}

// Holds at 0, 600 and 800 kPa alone do not say what the current is at 400.
TEST(PumpUp, WithoutAMomentOfInertiaItsCurrentsAreNotUsed) {
  const made::Manners manners{.ramp_s = 1, .pump_up = true};
  Context context = made::context(manners);
  const RawTrace trace = made::trace({}, manners, context);
  const Evaluation without = evaluate(trace, context);
  EXPECT_FALSE(metric(without, "specific_energy_400").value);
  EXPECT_NE(metric(without, "specific_energy_400").missing_reason.find("400 kPa shows the current"),
            std::string::npos);
  EXPECT_TRUE(metric(without, "current_600").value);
  context.model.nominal.moment_of_inertia_kg_m2 = 6e-4;
  EXPECT_TRUE(metric(evaluate(trace, context), "specific_energy_400").value);
}

// The made trace has no rotor: what is added is J times the slowing over k_e.
TEST(PumpUp, TheSlowingRotorsShareOfTheCurrentIsAdded) {
  const made::Manners manners{.ramp_s = 1, .pump_up = true};
  Context context = made::context(manners);
  const RawTrace trace = made::trace({}, manners, context);
  const auto current_rising = [&](double inertia) {
    context.model.nominal.moment_of_inertia_kg_m2 = inertia;
    for (const OperatingPoint& point : evaluate(trace, context).points)
      if (point.step_id == "pump_up" && point.target_gauge_pa == 400e3)
        return point.supply_current_a;
    return 0.0;
  };
  const double bare = current_rising(1e-12);
  const double one = current_rising(5e-4);
  EXPECT_GT(one, bare);  // the speed falls while the pressure rises
  EXPECT_NEAR((current_rising(1e-3) - bare) / (one - bare), 2, 1e-6);
}

// With the outlet shut the meter stands at its lower end; a hold in which it does so is another thing.
TEST(PumpUp, AMeterThatStandsStillBehindAShutOutletIsNotSick) {
  const made::Manners exact{.counts = false, .ramp_s = 1, .pump_up = true};
  made::Manners counting = exact;
  counting.counts = true;
  const Context context = made::context(counting);
  RawTrace trace =
      made::through_instruments(made::trace({}, exact, made::context(exact)), context, 3);
  RawChannel& flow = made::channel(trace, "flow");
  for (const StepMark& step : trace.steps)
    for (std::size_t i = 0; step.kind == StepKind::pump_up && i < flow.raw.size(); ++i)
      if (flow.time_us[i] > step.start_us && flow.time_us[i] < step.end_us) flow.raw[i] = 0;
  for (const ChannelHealth& one : evaluate(trace, context).health)
    EXPECT_EQ(one.state, HealthState::good) << one.channel_id << ": " << one.detail;
}

TEST(Ramp, GivesTheFlowsBackFromExactReadings) {
  const made::Manners manners{.ramp_s = 1, .ramp = true};
  const Context context = made::context(manners);
  const made::Truth truth;
  const Evaluation found = evaluate(made::trace(truth, manners, context), context);
  ASSERT_EQ(found.points.size(), 6u);  // three holds, three stretches
  for (const double kpa : {0.0, 200.0, 400.0, 600.0, 800.0}) {
    const std::string id = "fad_" + std::to_string(static_cast<int>(kpa));
    const double is = made::flow_m3_s(truth, context, kpa * 1e3);
    EXPECT_NEAR(metric(found, id).value.value_or(0) / is, 1, 1.5e-3) << id;
  }
}

TEST(RiseEnd, TheGapIsWhatIsLeftAtThePressureOfTheHold) {
  const OnTheWay rise{.level = 20, .slope_s = 2, .gauge_pa = 550e3, .gauge_slope_pa_s = 100e3};
  EXPECT_NEAR(gap_of(rise, {.level = 21, .gauge_pa = 600e3}), 0, 1e-12);
  EXPECT_NEAR(gap_of(rise, {.level = 21.4, .gauge_pa = 600e3}), 0.4, 1e-12);  // 0.2 s late
}

RawTrace ramp_trace(const Context& context, const made::Manners& manners) {
  made::Manners exact = manners;
  exact.counts = false;
  return made::through_instruments(made::trace({}, exact, made::context(exact)), context, 3);
}

// Every sample is what was true so many seconds ago.
void delay(RawTrace& trace, const std::string& id, double late_s) {
  RawChannel& channel = made::channel(trace, id);
  const double period_s = seconds_from(channel.time_us[0], channel.time_us[1]);
  const auto by = static_cast<std::ptrdiff_t>(std::lround(late_s / period_s));
  std::copy_backward(channel.raw.begin(), channel.raw.end() - by, channel.raw.end());
}

TEST(Ramp, TheHoldItLeadsToSettlesALateCurrent) {
  const made::Manners manners{.counts = true, .ramp_s = 1, .ramp = true};
  Context context = made::context(manners);
  context.model.nominal.moment_of_inertia_kg_m2 = 1e-9;  // the made trace has no rotor
  RawTrace trace = ramp_trace(context, manners);
  const Evaluation in_time = evaluate(trace, context);
  delay(trace, "amp", 0.1);
  const Evaluation late = evaluate(trace, context);
  const auto current_at_400 = [](const Evaluation& evaluation) {
    for (const OperatingPoint& point : evaluation.points)
      if (point.step_id == "ramp" && point.target_gauge_pa == 400e3) return point.supply_current_a;
    return 0.0;
  };
  EXPECT_LT(current_at_400(late), 0.993 * current_at_400(in_time));
  const double moved =
      *metric(late, "specific_energy_400").value - *metric(in_time, "specific_energy_400").value;
  EXPECT_LT(std::abs(moved), 0.5 * *metric(in_time, "specific_energy_400").u);
}

std::string accused(const RawTrace& trace, const Context& context) {
  std::string ids;
  for (const ChannelHealth& one : evaluate(trace, context).health)
    if (one.state != HealthState::good) ids += one.channel_id + " ";
  return ids;
}

TEST(Ramp, AChannelFarBehindTheOthersIsAccused) {
  const made::Manners manners{.counts = true, .ramp_s = 1, .ramp = true};
  const Context context = made::context(manners);
  const RawTrace sound = ramp_trace(context, manners);
  EXPECT_EQ(accused(sound, context), "");
  for (const auto& [id, late_s] : {std::pair{"amp", 0.9}, {"p", 0.4}}) {
    RawTrace trace = sound;
    delay(trace, id, late_s);
    EXPECT_EQ(accused(trace, context), std::string(id) + " ");
  }
}

TEST(Ramp, AStepOfTheCurrentBetweenItsLoadsIsAccused) {
  const made::Manners manners{.counts = true, .ramp_s = 1, .ramp = true};
  const Context context = made::context(manners);
  RawTrace trace = ramp_trace(context, manners);
  RawChannel& current = made::channel(trace, "amp");
  const std::int64_t from_us = trace.steps.back().start_us / 2;
  for (std::size_t i = 0; i < current.raw.size(); ++i)
    if (current.time_us[i] > from_us)
      current.raw[i] = std::llround(1.15 * static_cast<double>(current.raw[i]));
  EXPECT_NE(accused(trace, context), "");
}

}  // namespace
}  // namespace endgate::analysis
