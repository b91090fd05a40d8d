// Limits on the curve and on relations, and classes, as records keep them; records without any keep
// the bytes they always had.

#include <gtest/gtest.h>

#include "analysis/grade_limit.h"
#include "analysis/limit_subject.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/context_fields.h"
#include "daemon/mapping/evaluation_parts.h"
#include "schema/fact_fields.h"

namespace endgate::daemon {
namespace {

analysis::Limit on_flow() {
  analysis::Limit limit;
  limit.metric = "fad_400";
  limit.lower = 7e-4;
  return limit;
}

analysis::Limit on_the_curve() {
  analysis::Limit limit;
  limit.metric = analysis::kCurveSubject;
  limit.points = {{0, 9e-4, 1e-3}, {400e3, 7e-4, {}}};
  return limit;
}

analysis::Limit on_a_relation() {
  analysis::Limit limit;
  limit.metric = analysis::relation_subject("current_600", "fad_600");
  limit.slope = 4000;
  limit.intercept = 5;
  limit.upper = 1;
  return limit;
}

TEST(KeptLimits, ASetOfLimitsOnMetricsKeepsItsBytes) {
  analysis::LimitSet set{"limits M@1", 1, {on_flow()}};
  EXPECT_EQ(schema::fields_written(set), 3U);
  EXPECT_EQ(schema::fields_written(set.limits[0]), 7U);
  EXPECT_EQ(schema::fields_written(on_a_relation()), 9U);
  EXPECT_EQ(schema::fields_written(on_the_curve()), 10U);
}

TEST(KeptLimits, TheWholeSetComesBackFromARecord) {
  analysis::Context context;
  context.limits = {"limits M@1", 1, {on_flow(), on_the_curve(), on_a_relation()}};
  context.limits.classes = {{"A", {on_flow(), on_the_curve()}}, {"B", {on_flow()}}};
  const std::vector<std::uint8_t> bytes = context_bytes(context);
  const analysis::LimitSet read = context_from(bytes).limits;
  EXPECT_EQ(schema::bytes_of(read), schema::bytes_of(context.limits));
  ASSERT_EQ(read.limits.size(), 3U);
  EXPECT_EQ(read.limits[1].points.at(1).gauge_pa, 400e3);
  EXPECT_EQ(read.limits[2].slope, 4000);
  EXPECT_EQ(read.classes.at(0).limits.at(1).points.size(), 2U);
}

TEST(KeptLimits, AnOutcomeOnAMetricKeepsItsBytesAndOneOnTheCurveAllItsPoints) {
  analysis::Metric flow;
  flow.id = "fad_400";
  flow.value = 8e-4;
  flow.u = 1e-6;
  const schema::LimitAsWas plain =
      limit_as_was(analysis::hold(on_flow(), std::vector{flow}, {}).outcome);
  EXPECT_EQ(schema::fields_written(plain), 9U);
  const std::vector<analysis::DrawnPoint> drawn{{0, 9.5e-4, 1e-6, false},
                                                {800e3, 6e-4, 1e-6, false}};
  const schema::LimitAsWas band = limit_as_was(analysis::hold(on_the_curve(), {}, drawn).outcome);
  EXPECT_EQ(schema::fields_written(band), 13U);
  ASSERT_EQ(band.band.size(), 2U);
  EXPECT_EQ(band.band[1].outcome, "pass");
  EXPECT_NEAR(band.band[1].flow_m3_s.value(), 7.75e-4, 1e-12);
  EXPECT_EQ(schema::bytes_of(band).empty(), false);
}

}  // namespace
}  // namespace endgate::daemon
