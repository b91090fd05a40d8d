#include "analysis/leak_law.h"

#include <gtest/gtest.h>

#include <cmath>

#include "analysis/evaluate.h"
#include "tests/analysis/found_metric.h"
#include "tests/analysis/measure_published.h"
#include "tests/analysis/measure_trace.h"

namespace endgate::analysis {
namespace {

LeakPressures leak_atmospheres(const std::vector<double>& both) { return {both.at(0), both.at(1)}; }

TEST(LeakLaw, LaminarLeaksGrowAsPublished) {
  const double there = published::number("laminar_leak.leak") *
                       laminar_ratio(leak_atmospheres(published::numbers("laminar_leak.from_atm")),
                                     leak_atmospheres(published::numbers("laminar_leak.to_atm")));
  EXPECT_NEAR(there, published::number("laminar_leak.leak_there"), 0.5e-3);
  EXPECT_NEAR(laminar_ratio(over(101325, 100e3), over(101325, 800e3)) /
                  published::number("laminar_scaling.ratio"),
              1, 1e-7);
}

// Through one throat from one pressure: the flow over the choked one is the reciprocal of the area
// ratio that would choke it.
TEST(LeakLaw, OrificesFollowThePublishedTableOfIsentropicFlow) {
  const std::vector<double> pressures = published::numbers("isentropic_flow.pressure_ratio");
  const std::vector<double> areas = published::numbers("isentropic_flow.area_ratio");
  ASSERT_EQ(pressures.size(), areas.size());
  const LeakPressures choked{100e3, 30e3};
  for (std::size_t i = 0; i < areas.size(); ++i)
    EXPECT_NEAR(orifice_ratio(choked, {100e3, 100e3 * pressures[i]}), 1 / areas[i], 2e-4);
}

TEST(LeakLaw, AChokedOrificeGrowsAsThePressureInside) {
  EXPECT_DOUBLE_EQ(orifice_ratio({300e3, 100e3}, {900e3, 100e3}), 3);
  EXPECT_DOUBLE_EQ(orifice_ratio({300e3, 100e3}, {300e3, 20e3}), 1);
}

TEST(LeakLaw, AnUnknownLawLiesBetweenTheTwo) {
  const LeakPressures from = over(100e3, 600e3);
  const LeakPressures to = over(100e3, 800e3);
  const LeakScale scale = *leak_scale(from, to);
  EXPECT_NEAR(scale.factor, (80.0 / 48 + 9.0 / 7) / 2, 1e-12);
  EXPECT_NEAR(scale.u, (80.0 / 48 - 9.0 / 7) / 2 / std::sqrt(3.0), 1e-12);
  EXPECT_LT(leak_scale(to, from)->u, 0) << "downwards the orifice lets through the more";
  const LeakScale nowhere = *leak_scale(from, from);
  EXPECT_EQ(nowhere.factor, 1);
  EXPECT_EQ(nowhere.u, 0);
}

TEST(LeakLaw, RefusesWhereNothingDrivesTheLeak) {
  EXPECT_FALSE(leak_scale(over(100e3, 0), over(100e3, 800e3)));
  EXPECT_FALSE(leak_scale(over(100e3, 600e3), over(0, 800e3)));
  EXPECT_FALSE(leak_scale(over(100e3, std::nan("")), over(100e3, 800e3)));
}

struct ConvertedLeaks {
  Metric back, back_service, seal, seal_service;
};
ConvertedLeaks converted_leaks(double back_gauge_pa, double seal_gauge_pa) {
  Context context = made::context();
  context.model.service = {back_gauge_pa, seal_gauge_pa};
  context.model.metrics = {"back_leak", "seal_leak", "back_leak_service", "seal_leak_service"};
  const Evaluation e = evaluate(made::trace({}, {}, context), context);
  return {metric(e, "back_leak"), metric(e, "back_leak_service"), metric(e, "seal_leak"),
          metric(e, "seal_leak_service")};
}

TEST(LeakLaw, ATestSaysWhatTheUnitLeaksInService) {
  const ConvertedLeaks at = converted_leaks(800e3, 10e3);
  ASSERT_TRUE(at.back_service.value && at.seal_service.value);
  const LeakScale back = *leak_scale(over(100e3, 600e3), over(100e3, 800e3));
  const LeakScale seal = *leak_scale(over(100e3, 20e3), over(100e3, 10e3));
  EXPECT_NEAR(*at.back_service.value / *at.back.value, back.factor, 1e-9);
  EXPECT_NEAR(*at.seal_service.value / *at.seal.value, seal.factor, 1e-9);
  // The law adds to what the leak itself is not known by.
  EXPECT_GT(*at.back_service.u, back.factor * *at.back.u);
  EXPECT_GT(*at.back_service.u, 0.9 * back.u * *at.back.value);
}

// Carried to the target and from there back to where the dwell stood, a leak is what it was.
TEST(LeakLaw, WhatTheLawDoesThereAndBackCancels) {
  const double law = 1;
  const auto carried = [&](const LeakPressures& from, const LeakPressures& to) {
    const LeakScale scale = *leak_scale(from, to);
    return scale.factor + law * scale.u;
  };
  const LeakPressures low = over(100e3, 580e3), high = over(100e3, 620e3);
  EXPECT_NEAR(carried(low, high) * carried(high, low), 1, 1e-3);
  EXPECT_GT(carried(low, high) / leak_scale(low, high)->factor, 1.003);
}

TEST(LeakLaw, WithoutAServicePressureTheConversionIsRefusedInWords) {
  const ConvertedLeaks none = converted_leaks(0, 0);
  EXPECT_FALSE(none.back_service.value);
  EXPECT_EQ(none.back_service.missing_reason, "the model file names no service pressure");
  EXPECT_TRUE(none.back.value);
}

}  // namespace
}  // namespace endgate::analysis
