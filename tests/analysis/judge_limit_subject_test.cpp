// Limits on the curve and on relations, and classes: analysis/limit_subject.h, grade.h G-10, G-11.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "analysis/grade.h"
#include "analysis/grade_limit.h"
#include "analysis/grade_rests_on.h"
#include "analysis/limit_subject.h"
#include "analysis/standing.h"

namespace endgate::analysis {
namespace {

using testing::HasSubstr;

constexpr const char* kFlowCause = "calibration north@1/flow";
constexpr const char* kVoltage = "calibration north@1/supply_voltage";

Metric measured(const std::string& id, double value, std::vector<UncertaintyPart> parts) {
  Metric metric;
  metric.id = id;
  metric.value = value;
  double squares = 0;
  for (const UncertaintyPart& part : parts) squares += part.u * part.u;
  metric.u = std::sqrt(squares);
  metric.parts = std::move(parts);
  return metric;
}

// Current may lie 1 A above the line 5 A + 4,000 A/(m3/s) flow, or 1 A below.
Limit current_against_flow() {
  Limit limit;
  limit.metric = relation_subject("current_600", "fad_600");
  limit.slope = 4000;
  limit.intercept = 5;
  limit.lower = -1;
  limit.upper = 1;
  return limit;
}

std::vector<Metric> current_and_flow(double current_a, double flow_m3_s) {
  return {measured("current_600", current_a, {{"random", 0.03}, {kVoltage, 0.10}}),
          measured("fad_600", flow_m3_s, {{"random", 1e-6}, {kVoltage, 2e-5}, {kFlowCause, 1e-6}})};
}

TEST(Relation, IsTheDistanceFromItsLineAndWhatMovesBothCancels) {
  const Metric distance = held_metric(current_against_flow(), current_and_flow(7.9, 7e-4));
  EXPECT_NEAR(distance.value.value(), 7.9 - (4000 * 7e-4 + 5), 1e-12);
  // voltage: 0.10 - 4000 x 2e-5; random: 0.03 and 4000 x 1e-6; meter: 4000 x 1e-6
  const double expected = std::sqrt(0.02 * 0.02 + (0.03 * 0.03 + 0.004 * 0.004) + 0.004 * 0.004);
  EXPECT_NEAR(distance.u.value(), expected, 1e-9);
}

TEST(Relation, WhatMovesThemToOppositeSidesAddsUp) {
  std::vector<Metric> metrics = current_and_flow(7.9, 7e-4);
  metrics[1].parts[1].u = -2e-5;
  const double u = held_metric(current_against_flow(), metrics).u.value();
  EXPECT_GT(u, 0.18);
}

// Each of these joins independent errors: form misses of two holds have the same sign by chance.
TEST(Relation, WhatJoinsSeveralErrorsDoesNotCancel) {
  for (const char* cause :
       {"model", "correction thermal", "correction reference", "constants north@1"}) {
    Limit alike;
    alike.metric = relation_subject("fad_600", "fad_400");
    alike.slope = 1;
    const Metric y = measured("fad_600", 7e-4, {{cause, 2e-6}});
    const Metric x = measured("fad_400", 8e-4, {{cause, 2e-6}});
    EXPECT_NEAR(held_metric(alike, std::vector{y, x}).u.value(), std::sqrt(2.0) * 2e-6, 1e-12)
        << cause;
  }
}

TEST(Relation, WhatThePartsDoNotAttributeStaysIn) {
  std::vector<Metric> metrics = current_and_flow(7.9, 7e-4);
  metrics[0].u = std::hypot(*metrics[0].u, 0.5);
  EXPECT_GT(held_metric(current_against_flow(), metrics).u.value(), 0.5);
}

TEST(Relation, IsMissingWithTheMetricThatIsMissing) {
  std::vector<Metric> metrics = current_and_flow(7.9, 7e-4);
  metrics[1].value.reset();
  metrics[1].missing_reason = "there is no curve";
  const HeldLimit held = hold(current_against_flow(), metrics, {});
  EXPECT_EQ(held.outcome.verdict, Verdict::undecided);
  EXPECT_EQ(held.code, "metric_missing");
  EXPECT_THAT(held.outcome.sentence, HasSubstr("flow at 600\u00A0kPa: there is no curve"));
}

TEST(Relation, IsJudgedAndSaidLikeAMetric_G10) {
  const HeldLimit held = hold(current_against_flow(), current_and_flow(9.5, 7e-4), {});
  EXPECT_EQ(held.outcome.verdict, Verdict::fail);
  EXPECT_EQ(held.code, "above_upper");
  EXPECT_NEAR(held.outcome.value.value(), 1.7, 1e-9);
  EXPECT_EQ(
      held.outcome.sentence,
      "Current at 600\u00A0kPa against flow at 600\u00A0kPa is 1.70 \u00B1 0.07\u00A0A off its "
      "line, 0.70\u00A0A above its upper limit of 1.00\u00A0A (guard band 0.06\u00A0A).");
}

TEST(Relation, RestsOnWhatBothOfItsMetricsRestOn) {
  const RestsOn rests = rests_on("current_600~speed_600");
  EXPECT_TRUE(contains(rests.roles, Role::supply_current));
  EXPECT_TRUE(contains(rests.roles, Role::speed));
  EXPECT_FALSE(contains(rests.roles, Role::flow));
  EXPECT_FALSE(rests.curve);
  EXPECT_TRUE(rests_on("curve").curve);
}

// 1e-3 m3/s at 0, 8e-4 at 800 kPa.
std::vector<DrawnPoint> straight_curve() {
  std::vector<DrawnPoint> drawn;
  for (int i = 0; i <= 8; ++i) drawn.push_back({i * 1e5, 1e-3 - i * 2.5e-5, 2e-6, false});
  return drawn;
}

Limit band(std::vector<BandPoint> points) {
  Limit limit;
  limit.metric = kCurveSubject;
  limit.points = std::move(points);
  return limit;
}

TEST(CurveBand, TakesValueAndUOfTheCurveBetweenItsDrawnPoints) {
  const Metric at = drawn_at(straight_curve(), 350e3);
  EXPECT_NEAR(at.value.value(), 1e-3 - 3.5 * 2.5e-5, 1e-12);
  EXPECT_NEAR(at.u.value(), 2e-6, 1e-15);
  EXPECT_NEAR(drawn_at(straight_curve(), 0).value.value(), 1e-3, 1e-15);
  EXPECT_NEAR(drawn_at(straight_curve(), 800e3).value.value(), 8e-4, 1e-15);
  EXPECT_FALSE(drawn_at(straight_curve(), 801e3).value);
  EXPECT_FALSE(drawn_at({}, 0).value);
}

TEST(CurveBand, IsAsItsWorstPointAndKeepsEachOfThem_G10) {
  const Limit limit = band({{0, 9e-4, 1.1e-3}, {350e3, 9.3e-4, {}}, {600e3, 8e-4, {}}});
  const HeldLimit held = hold(limit, {}, straight_curve());
  EXPECT_EQ(held.outcome.metric, "curve");
  EXPECT_EQ(held.outcome.verdict, Verdict::fail);
  EXPECT_EQ(held.outcome.gauge_pa.value(), 350e3);
  EXPECT_NEAR(held.outcome.value.value(), 9.125e-4, 1e-12);
  ASSERT_EQ(held.outcome.band.size(), 3U);
  EXPECT_EQ(held.outcome.band[0].verdict, Verdict::pass);
  EXPECT_EQ(held.outcome.band[1].verdict, Verdict::fail);
  EXPECT_EQ(held.outcome.band[2].verdict, Verdict::pass);
  EXPECT_EQ(
      held.outcome.sentence,
      "Flow at 350\u00A0kPa is 54.75 \u00B1 0.24\u00A0L/min, 1.05\u00A0L/min below its limit of "
      "55.80\u00A0L/min (guard band 0.20\u00A0L/min).");
}

TEST(CurveBand, AnUndecidedPointOutweighsOnesThatPass) {
  const Limit limit = band({{0, 9e-4, {}}, {400e3, 9e-4, {}}});
  EXPECT_EQ(hold(limit, {}, straight_curve()).outcome.verdict, Verdict::undecided);
}

// The last hold stood at 600 kPa: what is drawn above is no measurement.
TEST(CurveBand, WhereNoHoldReachedIsUndecided) {
  std::vector<DrawnPoint> drawn = straight_curve();
  drawn[7].extrapolated = drawn[8].extrapolated = true;
  const HeldLimit held = hold(band({{0, 9e-4, {}}, {800e3, 7e-4, {}}}), {}, drawn);
  EXPECT_EQ(held.outcome.verdict, Verdict::undecided);
  EXPECT_EQ(held.code, "metric_missing");
  EXPECT_THAT(held.outcome.sentence, HasSubstr("no usable hold reached this pressure"));
  EXPECT_EQ(hold(band({{0, 9e-4, {}}, {649e3, 7e-4, {}}}), {}, drawn).outcome.verdict,
            Verdict::pass);
}

TEST(CurveBand, WithoutACurveIsUndecided) {
  const HeldLimit held = hold(band({{0, 9e-4, {}}, {400e3, 8e-4, {}}}), {}, {});
  EXPECT_EQ(held.outcome.verdict, Verdict::undecided);
  EXPECT_EQ(held.code, "metric_missing");
}

// A set of one limit on flow, with two classes.
struct Classed {
  Context context;
  RawTrace trace;
  std::vector<ChannelHealth> health;
  std::optional<Curve> curve = Curve{};
  std::vector<Metric> metrics{measured("fad_400", 9e-4, {{"random", 1e-6}}),
                              measured("seal_leak", 1e-9, {{"random", 1e-10}})};

  Classed() {
    context.limits.limits = {lower("fad_400", 7e-4)};
    Limit tight;
    tight.metric = "seal_leak";
    tight.upper = 2e-9;
    context.limits.classes = {{"A", {lower("fad_400", 8.5e-4), tight}},
                              {"B", {lower("fad_400", 8e-4)}}};
    ChannelFacts seal;
    seal.id = "seal";
    seal.role = Role::seal_pressure;
    context.bench.channels = {seal};
  }
  static Limit lower(const std::string& id, double bound) {
    Limit limit;
    limit.metric = id;
    limit.lower = bound;
    return limit;
  }
  [[nodiscard]] Grade graded() const { return grade(context, trace, {health, curve, metrics, {}}); }
};

TEST(Class, TheFirstOneHeldLabelsAPass_G11) {
  Classed test;
  EXPECT_EQ(test.graded().label, "A");
  EXPECT_THAT(test.graded().reasons[0].sentence, HasSubstr("; class A."));
  test.metrics[1].value = 3e-9;
  EXPECT_EQ(test.graded().label, "B");
  test.metrics[0].value = 7.5e-4;
  EXPECT_EQ(test.graded().label, "");
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
}

TEST(Class, ItsBoundsKeepTheirGuardBands_G11) {
  Classed test;
  test.metrics[0].value = 8.5e-4 + 1e-6;  // w is 1.645 u
  EXPECT_EQ(test.graded().label, "B");
}

TEST(Class, ChangesNoVerdict_G11) {
  Classed test;
  test.metrics[0].value = 6e-4;
  test.context.limits.classes = {{"A", {Classed::lower("fad_400", 1e-4)}}};
  EXPECT_EQ(test.graded().verdict, Verdict::fail);
  EXPECT_EQ(test.graded().label, "");
  test.metrics[0].value = 7e-4;
  EXPECT_EQ(test.graded().verdict, Verdict::undecided);
  EXPECT_EQ(test.graded().label, "");
}

TEST(Class, IsNotReachedOnASickChannelOrADoubtfulCurve_G11) {
  Classed test;
  test.health = {{"seal", HealthState::spiky, "", std::nullopt}};
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
  EXPECT_EQ(test.graded().label, "B");
  test.curve->contradicted = true;
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
  EXPECT_EQ(test.graded().label, "");
}

PastTest past(double current_a, std::vector<DrawnPoint> drawn) {
  PastTest test;
  test.verdict = Verdict::undecided;
  test.purpose = "production";
  test.metrics = current_and_flow(current_a, 7e-4);
  test.drawn = std::move(drawn);
  return test;
}

TEST(StandingOnSubjects, RelationsAreCombinedByTheirMean) {
  const LimitSet limits{"limits", 1, {current_against_flow()}};
  std::vector<PastTest> good{past(7.9, {}), past(7.92, {})};
  for (PastTest& test : good) test.verdict = Verdict::pass;
  EXPECT_EQ(standing_of(good, limits).word, StandingWord::release);
  EXPECT_EQ(standing_of(std::vector{past(9.5, {}), past(9.52, {})}, limits).word,
            StandingWord::reject);
}

// One u of a curve has no parts, so two tests know it no better than one.
TEST(StandingOnSubjects, TheBandIsHeldAgainstTheMeanCurveWithTheUOfOneTest) {
  std::vector<DrawnPoint> higher = straight_curve();
  for (DrawnPoint& point : higher) point.flow_m3_s += 1e-6;
  const std::vector<PastTest> tests{past(7.9, straight_curve()), past(7.9, higher)};
  const auto word = [&](double lower) {
    return standing_of(tests, {"limits", 1, {band({{0, 1e-4, {}}, {400e3, lower, {}}})}}).word;
  };
  const double mean = 9e-4 + 0.5e-6;
  EXPECT_EQ(word(mean - 1.7 * 2e-6), StandingWord::release);
  EXPECT_EQ(word(mean - 1.5 * 2e-6), StandingWord::hold);
  EXPECT_EQ(word(mean + 1.7 * 2e-6), StandingWord::reject);
}

}  // namespace
}  // namespace endgate::analysis
