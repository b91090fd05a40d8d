// The whole reduction against a truth made by the equations themselves (measure_trace.h).

#include <gtest/gtest.h>

#include <bit>
#include <cmath>
#include <map>

#include "analysis/conclusion.h"
#include "analysis/curve.h"
#include "analysis/evaluate.h"
#include "tests/analysis/found_metric.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

using made::Manners;
using made::Truth;

double value(const Evaluation& evaluation, const std::string& id) {
  const Metric& one = metric(evaluation, id);
  EXPECT_TRUE(one.value.has_value()) << id << ": " << one.missing_reason;
  return one.value.value_or(std::nan(""));
}

double part(const Metric& metric, const std::string& cause) {
  for (const UncertaintyPart& one : metric.parts)
    if (one.cause == cause) return one.u;
  return 0;
}

std::map<std::string, double> truth_of(const Truth& truth, const Context& context) {
  std::map<std::string, double> values;
  for (const int kpa : {0, 200, 400, 600, 800})
    values["fad_" + std::to_string(kpa)] = made::flow_m3_s(truth, context, kpa * 1e3);
  values["speed_600"] = made::speed_rev_s(truth, context, 600e3);
  values["volumetric_efficiency_400"] = values["fad_400"] /
                                        made::speed_rev_s(truth, context, 400e3) /
                                        context.model.nominal.swept_volume_m3;
  values["back_leak"] = truth.back_leak_m3_s_pa2 * (7e5 * 7e5 - 1e5 * 1e5);
  values["seal_leak"] = truth.seal_leak_m3_s_pa2 * (1.2e5 * 1.2e5 - 1e5 * 1e5);
  return values;
}

Evaluation evaluated(const Truth& truth, const Manners& manners) {
  const Context context = made::context(manners);
  return evaluate(made::trace(truth, manners, context), context);
}

void expect_flows(const Evaluation& evaluation, const Context& context, const Truth& truth,
                  double relative) {
  for (const int kpa : {0, 200, 400, 600, 800}) {
    const std::string id = "fad_" + std::to_string(kpa);
    const double true_flow = made::flow_m3_s(truth, context, kpa * 1e3);
    EXPECT_NEAR(value(evaluation, id) / true_flow, 1, relative) << id;
  }
}

TEST(Evaluate, GivesBackTheTruthOfExactReadings) {
  const Truth truth;
  const Context context = made::context();
  const Evaluation evaluation = evaluated(truth, {});
  expect_flows(evaluation, context, truth, 3e-4);
  const std::map<std::string, double> true_values = truth_of(truth, context);
  EXPECT_NEAR(value(evaluation, "speed_600") / true_values.at("speed_600"), 1, 1e-5);
  EXPECT_NEAR(
      value(evaluation, "volumetric_efficiency_400") / true_values.at("volumetric_efficiency_400"),
      1, 3e-4);
  EXPECT_NEAR(value(evaluation, "seal_leak") / true_values.at("seal_leak"), 1, 0.02);
  EXPECT_EQ(evaluation.points.size(), 5u);
  EXPECT_EQ(evaluation.drawn.size(), 64u);
  EXPECT_FALSE(evaluation.drawn.back().extrapolated);
  EXPECT_FALSE(evaluation.curve->contradicted);
}

TEST(Evaluate, FollowsAFlowThatLiesBesideTheCurve) {
  Truth truth;
  truth.beside_rel = 0.004;  // as much as kFormRel allows for, and a little
  const Context context = made::context();
  const Evaluation evaluation = evaluated(truth, {});
  const double flow = made::flow_m3_s(truth, context, 400e3);
  const CurveQuery on{5, made::speed_rev_s(truth, context, 400e3)};
  const double of_curve = flow_at(*evaluation.curve, on)->flow_m3_s;
  EXPECT_GT(std::abs(of_curve / flow - 1), 1e-3);
  EXPECT_LT(std::abs(value(evaluation, "fad_400") / flow - 1), 0.6 * std::abs(of_curve / flow - 1));
}

TEST(Evaluate, FindsTheBackLeakOfADryReceiver) {
  Manners dry;
  dry.relative_humidity = 0.1;
  const double truth = truth_of({}, made::context(dry)).at("back_leak");
  EXPECT_NEAR(value(evaluated({}, dry), "back_leak") / truth, 1, 0.05);
}

TEST(Evaluate, FindsTheBackLeakThatEvaporatingWaterHides) {
  Manners wet;
  wet.evaporation_s = 20;
  const Evaluation evaluation = evaluated({}, wet);
  const double truth = truth_of({}, made::context(wet)).at("back_leak");
  EXPECT_NEAR(value(evaluation, "back_leak") / truth, 1, 0.2);
  Context blind = made::context(wet);  // told that the air is dry, it is far off
  made::channel(blind, Role::relative_humidity).scale = 0;
  const Evaluation misled = evaluate(made::trace({}, wet, made::context(wet)), blind);
  EXPECT_GT(std::abs(value(misled, "back_leak") / truth - 1), 0.5);
}

TEST(Evaluate, FlagsTheDeadHeadAsExtrapolated) {
  const Evaluation evaluation = evaluated({}, {});
  EXPECT_TRUE(metric(evaluation, "dead_head").extrapolated);
  EXPECT_FALSE(metric(evaluation, "fad_800").extrapolated);
  EXPECT_GT(value(evaluation, "dead_head"), 1e6);
}

TEST(Evaluate, CountsTheWaterThatStayedInTheReceiver) {
  Manners humid;
  humid.room_k = 303.15;
  humid.relative_humidity = 0.7;
  const Context context = made::context(humid);
  const Truth truth;
  const Evaluation evaluation = evaluate(made::trace(truth, humid, context), context);
  expect_flows(evaluation, context, truth, 5e-4);
  // Taken for dry, the same readings are more than a percent low.
  Context dry = context;
  made::channel(dry, Role::relative_humidity).scale = 0;
  const Evaluation without = evaluate(made::trace(truth, humid, context), dry);
  EXPECT_LT(value(without, "fad_400"), 0.99 * value(evaluation, "fad_400"));
}

TEST(Evaluate, UndoesTheLagOfTheMeter) {
  Manners slow;
  slow.meter_lag_s = 0.8;
  expect_flows(evaluated({}, slow), made::context(slow), {}, 2e-4);
}

TEST(Evaluate, TakesOffTheZeroOfThePressureSensor) {
  Manners shifted;
  shifted.pressure_offset_pa = 3000;
  const Context context = made::context(shifted);
  const Evaluation evaluation = evaluate(made::trace({}, shifted, context), context);
  expect_flows(evaluation, context, {}, 3e-4);
  // Hence the certificate's offset of that channel is no cause of uncertainty.
  Context vague = context;
  made::channel(vague, Role::discharge_pressure).calibration.u_offset_si = 5000;
  const Evaluation same = evaluate(made::trace({}, shifted, vague), vague);
  EXPECT_EQ(metric(same, "fad_400").u, metric(evaluation, "fad_400").u);
}

TEST(Evaluate, CarriesATestUnderAnotherBarometerAndVoltageToReference) {
  Manners away;
  away.barometer_abs_pa = 97000;
  away.supply_voltage_v = 13.35;
  const Context context = made::context(away);
  const Truth truth;
  const Evaluation evaluation = evaluate(made::trace(truth, away, context), context);
  EXPECT_NEAR(value(evaluation, "speed_600") / made::speed_rev_s(truth, context, 600e3), 1, 3e-4);
  // The made unit has another form than the nominal one: within what the correction allows for.
  for (const std::string id : {"fad_0", "fad_400", "fad_800"}) {
    const Metric& one = metric(evaluation, id);
    const double miss = std::abs(*one.value - truth_of(truth, context).at(id));
    EXPECT_LT(miss, 2 * std::hypot(part(one, "correction reference"), part(one, "model"))) << id;
    EXPECT_GT(part(one, "correction reference") + 1e-12, 0) << id;
  }
  EXPECT_NE(part(metric(evaluation, "fad_400"), "correction reference"), 0);
}

TEST(Evaluate, RefusesWhatIsTooFarFromTheReference) {
  Manners high;
  high.barometer_abs_pa = 90000;
  const Evaluation evaluation = evaluated({}, high);
  EXPECT_FALSE(metric(evaluation, "fad_400").value.has_value());
  EXPECT_NE(metric(evaluation, "fad_400").missing_reason.find("inlet pressure"), std::string::npos);
  EXPECT_TRUE(metric(evaluation, "back_leak").value.has_value());
}

TEST(Evaluate, StorageIsWhatAColdReceiverTakesInAndNotAnError) {
  Manners hasty;  // four seconds after a fast ramp: the metered flow is still low
  hasty.ramp_s = 2.5;
  hasty.hold_s = 7;
  hasty.head_above_room_k = 120;
  const Context context = made::context(hasty);
  const Evaluation evaluation = evaluate(made::trace({}, hasty, context), context);
  EXPECT_GT(evaluation.points[4].storage_m3_s / evaluation.points[4].flow_inlet_m3_s, 0.005);
  expect_flows(evaluation, context, {}, 1e-3);
}

TEST(Evaluate, TotalUIsTheRootOfTheSquaresOfItsParts) {
  const Evaluation evaluation = evaluated({}, {});
  for (const Metric& one : evaluation.metrics) {
    double squares = 0;
    for (const UncertaintyPart& p : one.parts) squares += p.u * p.u;
    EXPECT_NEAR(*one.u, std::sqrt(squares), 1e-6 * *one.u) << one.id;
  }
  const Metric& fad = metric(evaluation, "fad_400");
  EXPECT_NEAR(part(fad, "calibration north@1/flow"), 0.004 * *fad.value, 2e-5 * *fad.value);
}

// --- Noise: bias and coverage over many tests ------------------------------------------------

struct Score {
  double sum = 0;
  double squares = 0;
  double u = 0;
  int inside = 0;
};

TEST(Evaluate, RandomPartCoversWhatNoiseDoesOverThreeHundredTests) {
  constexpr int kTests = 300;
  Manners manners;
  const Truth truth;
  const Context exact_context = made::context(manners);
  const RawTrace exact = made::trace(truth, manners, exact_context);
  const Evaluation centre = evaluate(exact, exact_context);
  manners.counts = true;
  const Context context = made::context(manners);
  std::map<std::string, Score> scores;
  for (int seed = 0; seed < kTests; ++seed) {
    const Evaluation e = evaluate(
        made::through_instruments(exact, context, static_cast<std::uint64_t>(seed)), context);
    for (const Metric& one : e.metrics) {
      ASSERT_TRUE(one.value) << one.id << " " << one.missing_reason;
      const double u = std::abs(part(one, "random"));
      const double miss = *one.value - value(centre, one.id);
      Score& score = scores[one.id];
      score.sum += miss;
      score.squares += miss * miss;
      score.u += u;
      score.inside += std::abs(miss) < 1.96 * u ? 1 : 0;
    }
  }
  for (const auto& [id, score] : scores) {
    const double u = score.u / kTests;
    const double scatter = std::sqrt(score.squares / kTests);
    std::printf("%-26s bias %+.3f u, scatter %.3f u, inside 95 %%: %.1f %%\n", id.c_str(),
                score.sum / kTests / u, scatter / u, 100.0 * score.inside / kTests);
    if (id == "back_leak" || id == "seal_leak") continue;  // temperature of the gas: next test
    EXPECT_LT(std::abs(score.sum / kTests), 0.35 * u) << id;
    EXPECT_GT(score.inside, 0.90 * kTests) << id;
    EXPECT_LT(score.inside, 0.997 * kTests) << id;
  }
}

TEST(Evaluate, LeaksAreCoveredByNoiseAndTemperatureTogether) {
  constexpr int kTests = 60;
  Manners manners;
  manners.relative_humidity = 0.1;  // a dry receiver
  const Truth truth;
  const RawTrace exact = made::trace(truth, manners, made::context(manners));
  manners.counts = true;
  const Context context = made::context(manners);
  const std::map<std::string, double> true_values = truth_of(truth, context);
  std::map<std::string, int> inside;
  for (int seed = 0; seed < kTests; ++seed) {
    const Evaluation e = evaluate(
        made::through_instruments(exact, context, static_cast<std::uint64_t>(seed)), context);
    for (const std::string id : {"back_leak", "seal_leak"}) {
      const double u = std::hypot(part(metric(e, id), "random"), part(metric(e, id), "model"));
      inside[id] += std::abs(value(e, id) - true_values.at(id)) < 1.96 * u ? 1 : 0;
    }
  }
  EXPECT_GE(inside["back_leak"], 52);
  EXPECT_GE(inside["seal_leak"], 52);
}

// --- Replay ----------------------------------------------------------------------------------

void expect_same_bits(const Evaluation& left, const Evaluation& right) {
  ASSERT_EQ(left.metrics.size(), right.metrics.size());
  const auto bits = [](double x) { return std::bit_cast<std::uint64_t>(x); };
  for (std::size_t i = 0; i < left.metrics.size(); ++i) {
    EXPECT_EQ(bits(left.metrics[i].value.value_or(0)), bits(right.metrics[i].value.value_or(0)));
    EXPECT_EQ(bits(left.metrics[i].u.value_or(0)), bits(right.metrics[i].u.value_or(0)));
  }
  for (std::size_t i = 0; i < left.drawn.size(); ++i)
    EXPECT_EQ(bits(left.drawn[i].u_m3_s), bits(right.drawn[i].u_m3_s));
}

TEST(Evaluate, GivesTheSameBitsAgainAndAtAnotherMemoryAlignment) {
  Manners manners;
  const RawTrace exact = made::trace({}, manners, made::context(manners));
  manners.counts = true;
  const Context context = made::context(manners);
  const RawTrace seen = made::through_instruments(exact, context, 3);
  const Evaluation first = evaluate(seen, context);
  expect_same_bits(first, evaluate(seen, context));
  // One sample more before the test moves every column by eight bytes against its vector width.
  RawTrace shifted = seen;
  for (RawChannel& channel : shifted.channels) {
    channel.time_us.insert(channel.time_us.begin(), channel.time_us.front() - 20000);
    channel.raw.insert(channel.raw.begin(), channel.raw.front());
    channel.quality.insert(channel.quality.begin(), Quality::not_arrived);
  }
  expect_same_bits(first, evaluate(shifted, context));
}

// --- What is missing stays missing -----------------------------------------------------------

TEST(Evaluate, ASilentFlowMeterTakesTheFlowsAndLeavesTheRest) {
  const Context context = made::context();
  RawTrace trace = made::trace({}, {}, context);
  RawChannel& flow = made::channel(trace, "flow");
  for (std::size_t i = 2000; i < 2050; ++i) flow.quality[i] = Quality::not_arrived;
  const Evaluation evaluation = evaluate(trace, context);
  for (const std::string id : {"fad_0", "fad_800", "dead_head", "specific_energy_400"}) {
    EXPECT_FALSE(metric(evaluation, id).value.has_value()) << id;
    EXPECT_NE(metric(evaluation, id).missing_reason.find("silent"), std::string::npos) << id;
  }
  EXPECT_TRUE(metric(evaluation, "current_600").value.has_value());
  EXPECT_TRUE(metric(evaluation, "seal_leak").value.has_value());
  // How warm the gas is when the back leak begins follows from what the meter let out.
  EXPECT_FALSE(metric(evaluation, "back_leak").value.has_value());
  EXPECT_FALSE(evaluation.curve.has_value());
  EXPECT_NE(evaluation.curve_refusal, "");
  EXPECT_TRUE(evaluation.drawn.empty());
}

TEST(Evaluate, AChannelThatIsNotThereIsNamed) {
  const Context context = made::context();
  RawTrace trace = made::trace({}, {}, context);
  std::erase_if(trace.channels, [](const RawChannel& c) { return c.id == "amp"; });
  const Evaluation evaluation = evaluate(trace, context);
  EXPECT_NE(metric(evaluation, "current_600").missing_reason.find("amp"), std::string::npos);
  EXPECT_TRUE(metric(evaluation, "fad_400").value.has_value());
}

TEST(Evaluate, ATestBrokenOffIsEvaluatedAsFarAsItCame) {
  const Context context = made::context();
  RawTrace trace = made::trace({}, {}, context);
  trace.steps.resize(7);  // to hold_600
  trace.steps.back().end = StepEnd::broken_off;
  trace.steps.back().reason = "the cover was opened";
  trace.break_off = BreakOff::cover_open;
  const Evaluation evaluation = evaluate(trace, context);
  const Truth truth;
  EXPECT_NEAR(value(evaluation, "fad_200") / made::flow_m3_s(truth, context, 200e3), 1, 3e-4);
  EXPECT_NEAR(value(evaluation, "fad_400") / made::flow_m3_s(truth, context, 400e3), 1, 3e-4);
  EXPECT_EQ(metric(evaluation, "fad_800").missing_reason, "no usable hold reached 800 kPa");
  EXPECT_EQ(evaluation.points[3].note, "the cover was opened");
  EXPECT_FALSE(metric(evaluation, "back_leak").value.has_value());
  EXPECT_EQ(evaluation.grade.verdict, Verdict::void_);
}

TEST(Evaluate, AMetricNobodyKnowsIsMissingAndSaysSo) {
  Context context = made::context();
  context.model.metrics = {"fad_9000"};
  const Evaluation evaluation = evaluate(made::trace({}, {}, context), context);
  EXPECT_EQ(evaluation.metrics.at(0).missing_reason, "no such metric is known to the analysis");
}

TEST(Evaluate, NothingAtAllIsAnsweredWithReasons) {
  const Evaluation nothing = evaluate(RawTrace{}, Context{});
  EXPECT_TRUE(nothing.metrics.empty());
  const Evaluation empty = evaluate(RawTrace{}, made::context());
  for (const Metric& one : empty.metrics) {
    EXPECT_FALSE(one.value.has_value()) << one.id;
    EXPECT_NE(one.missing_reason, "") << one.id;
  }
}

}  // namespace
}  // namespace endgate::analysis
