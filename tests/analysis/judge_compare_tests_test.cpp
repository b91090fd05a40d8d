// analysis/compare_tests.h, contract lines CT-1 ... CT-4 and every branch of the sentence.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "analysis/compare_tests.h"

namespace endgate::analysis {
namespace {

using testing::EndsWith;

constexpr const char* kMeter = "calibration north@1/flow";

// Value in any unit: only ratios and differences are asked for.
Metric flow(double value, double u, std::vector<UncertaintyPart> parts = {}) {
  Metric metric;
  metric.id = "fad_400";
  metric.value = value;
  metric.u = u;
  metric.parts = std::move(parts);
  return metric;
}

Metric with_gain(double value, double u, const std::string& cause) {
  const double shared = 0.004 * value;
  return flow(value, u, {{cause, shared}, {"random", std::sqrt(u * u - shared * shared)}});
}

Difference only(const Metric& birth, const Metric& later) {
  const auto all = differences(std::vector{birth}, std::vector{later});
  EXPECT_EQ(all.size(), 1U);
  return all.front();
}

// 10.02 +- 0.03 against 9.98 +- 0.04 (U, k = 2): 0.04 / 0.05 = 0.8, worked by hand.
TEST(CompareTests, OfIndependentResultsIsTheirDifferenceOverTheJointUncertainty) {
  EXPECT_NEAR(*only(flow(9.98, 0.02), flow(10.02, 0.015)).e_n, 0.8, 1e-12);
}

// Worked by hand from the formula in the header: birth 58.69 (u 0.28703), return 55.30 (u 0.30);
// 0.4 % of gain common to both under one calibration, nothing under two.
TEST(CompareTests, WhatOneCalibrationHasInCommonCancels) {
  const Difference same = only(with_gain(58.69, 0.28703, kMeter), with_gain(55.30, 0.30, kMeter));
  EXPECT_NEAR(*same.u, 0.2617793, 1e-6);
  EXPECT_NEAR(*same.e_n, -6.4749201, 1e-5);
  EXPECT_EQ(same.common, std::vector<std::string>{kMeter});
  const Difference anew =
      only(with_gain(58.69, 0.28703, kMeter), with_gain(55.30, 0.30, "calibration north@2/flow"));
  EXPECT_NEAR(*anew.u, 0.4151942, 1e-6);
  EXPECT_NEAR(*anew.e_n, -4.0824270, 1e-5);
  EXPECT_TRUE(anew.common.empty());
}

TEST(CompareTests, ACauseThatMovesTheTestsOppositeWaysDoesNotCancel) {
  const Difference opposite = only(flow(1, 0.1, {{kMeter, 0.1}}), flow(1, 0.1, {{kMeter, -0.1}}));
  EXPECT_NEAR(*opposite.u, 0.2, 1e-12);
}

TEST(CompareTests, TheFormOfTheCurveNeverCancels) {
  EXPECT_NEAR(*only(flow(1, 0.1, {{"model", 0.1}}), flow(1, 0.1, {{"model", 0.1}})).u,
              0.1 * std::sqrt(2.0), 1e-12);
}

TEST(CompareTests, AMetricOfOneTestOnlyHasNoDifference_CT1) {
  Metric missing = flow(1, 0.1);
  missing.value.reset();
  EXPECT_TRUE(differences(std::vector{flow(1, 0.1)}, std::vector{missing}).empty());
  EXPECT_TRUE(differences(std::vector{missing}, std::vector{flow(1, 0.1)}).empty());
  EXPECT_TRUE(differences(std::vector{flow(1, 0.1)}, {}).empty());
}

TEST(CompareTests, AMissingUncertaintyStaysMissing_CT2) {
  Metric unsure = flow(1, 0.1);
  unsure.u.reset();
  const Difference difference = only(unsure, flow(0.9, 0.1));
  EXPECT_FALSE(difference.u);
  EXPECT_FALSE(difference.e_n);
  EXPECT_FALSE(difference.significant());
}

TEST(CompareTests, TheBoundItselfIsNotSignificant_CT3) {
  Difference at{.metric = "fad_400", .birth = 1, .change = 1, .u = 0.5, .e_n = 1.0};
  EXPECT_FALSE(at.significant());
  at.e_n = -1.01;
  EXPECT_TRUE(at.significant());
}

// 0.05 of a change of 0.08 is the bench's: 0.03 is left, u = hypot(0.03, 0.04) = 0.05, E_n = 0.3.
TEST(CompareTests, WhatTheBenchReadsDifferentlyIsTakenOutAndAddsItsUncertainty_CT4) {
  Difference difference{.metric = "fad_400", .birth = 1, .change = 0.08, .u = 0.03, .e_n = 4.0 / 3};
  take_out(difference, 0.05, 0.04);
  EXPECT_NEAR(difference.change, 0.03, 1e-12);
  EXPECT_NEAR(*difference.u, 0.05, 1e-12);
  EXPECT_NEAR(*difference.e_n, 0.3, 1e-12);
  EXPECT_EQ(difference.bench, 0.05);
  Difference unsure{.metric = "fad_400", .birth = 1, .change = 0.08};
  take_out(unsure, 0.05, 0.04);
  EXPECT_FALSE(unsure.u) << "an unknown uncertainty stays unknown";
}

std::string said(const std::vector<Difference>& all, const ComparedWith& with = {}) {
  return birth_sentence(all, with);
}
Difference changed(double birth, double change, double e_n) {
  return {.metric = "fad_400", .birth = birth, .change = change, .u = 1.0, .e_n = e_n};
}

TEST(BirthSentence, HasABranchForEveryCondition) {
  EXPECT_EQ(said({}), "Nothing was measured in both tests.");
  EXPECT_EQ(said({{.metric = "fad_400", .birth = 1, .change = 1}}),
            "No uncertainty is known, so nothing can be said of 1 changes.");
  EXPECT_EQ(said({changed(50, 1, 0.5), changed(50, -1, -0.9)}),
            "None of 2 metrics differs from birth by more than its uncertainty.");
  EXPECT_EQ(said({changed(50, 1, 1.5), changed(50, -5, -6.5), changed(50, 0, 0)}),
            "Flow at 400\u00A0kPa is 10.0\u00A0% lower than at birth, 6.5 times its uncertainty; 2 "
            "of 3 metrics differ by more than theirs.");
  EXPECT_EQ(
      said({changed(50, 5, 2)}),
      "Flow at 400\u00A0kPa is 10.0\u00A0% higher than at birth, 2.0 times its uncertainty; 1 "
      "of 1 metrics differ by more than theirs.");
  EXPECT_EQ(
      said({changed(0, 5, 2)}),
      "Flow at 400\u00A0kPa is higher than at birth, 2.0 times its uncertainty; 1 of 1 metrics "
      "differ by more than theirs.");
}

TEST(BirthSentence, SaysWhatLimitsTheComparison) {
  EXPECT_THAT(said({}, {.later_void = true}),
              EndsWith(" The test was void; what was complete is compared."));
  EXPECT_THAT(said({}, {.other_bench = true}),
              EndsWith(" The benches differ; what they read differently is not taken out."));
}

TEST(BirthSentence, SaysWhereTheBenchIsTakenOut) {
  Difference corrected = changed(50, 1, 0.5);
  corrected.bench = 0.1;
  const std::vector<Difference> all{corrected, corrected}, some{corrected, changed(50, 1, 0.5)};
  EXPECT_THAT(said(all, {.other_bench = true}),
              EndsWith(" The benches differ; what they read differently is taken out."));
  EXPECT_THAT(
      said(some, {.other_bench = true}),
      EndsWith(" The benches differ; what they read differently is taken out of 1 of 2 metrics."));
  EXPECT_THAT(said(all), EndsWith(" What the bench reads differently since then is taken out."));
  EXPECT_THAT(said(some), EndsWith(" What the bench reads differently since then is taken out of 1 "
                                   "of 2 metrics."));
  EXPECT_THAT(said({changed(50, 1, 0.5)}), EndsWith("by more than its uncertainty."));
}

}  // namespace
}  // namespace endgate::analysis
