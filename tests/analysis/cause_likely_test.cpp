// Likely causes of made-up readings whose fault is known.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>

#include "analysis/cause_hypotheses.h"
#include "analysis/likely_cause.h"

namespace endgate::analysis {
namespace {

// Three readings of 1 % scatter; "filter" and "reed" do the same, "magnets" something else,
// "stuck" ends the test.
CauseTable table() {
  CauseTable made;
  made.id = "causes M@1";
  made.readings = {{"fad_400", 1e-3, false}, {"speed_600", 50, false}, {"back_leak", 1e-7, true}};
  made.covariance = {1e-4, 0, 1e-4, 0, 0, 0.04};
  const auto add = [&](const char* id, const char* name, std::vector<double> shift,
                       const char* sign = "") {
    made.causes.push_back({id, name, std::string("check ") + id, 1, false, {{1, sign, shift}}});
  };
  add("filter", "inlet filter", {-0.20, 0.02, 0});
  add("reed", "suction reed", {-0.20, 0.021, 0});
  add("magnets", "magnets", {0.10, 0.12, 0});
  add("check_valve", "check valve", {0, 0, 3});
  add("stuck", "piston stuck", {0, 0, 0}, "no_start");
  return made;
}

Context context() {
  Context made;
  made.bench.id = "north";
  made.causes = table();
  return made;
}

Evaluation failed(double flow_rel, double speed_rel, double leak_times) {
  Evaluation made;
  const auto add = [&](const char* id, double value) {
    Metric metric;
    metric.id = id;
    metric.value = value;
    metric.u = 0.001 * value;
    metric.parts = {{"random", 0.001 * value}};
    made.metrics.push_back(metric);
  };
  add("fad_400", 1e-3 * (1 + flow_rel));
  add("speed_600", 50 * (1 + speed_rel));
  add("back_leak", 1e-7 * leak_times);
  made.metrics[0].parts.push_back({"calibration north@1/flow", 5e-6});
  made.grade.verdict = Verdict::fail;
  return made;
}

const LikelyCause& first(const std::vector<LikelyCause>& causes) {
  EXPECT_FALSE(causes.empty());
  static const LikelyCause kNone;
  return causes.empty() ? kNone : causes.front();
}

TEST(LikelyCause, NamesThePartWhoseSignatureFits) {
  const auto causes = likely_causes({}, context(), failed(0.05, 0.06, 1));
  EXPECT_EQ(first(causes).causes, std::vector<std::string>{"magnets"});
  EXPECT_GT(first(causes).probability, 0.9);
  EXPECT_EQ(first(causes).told_apart_by, "");
}

TEST(LikelyCause, NamesLookAlikesTogetherAndSaysWhatWouldSeparateThem) {
  const auto causes = likely_causes({}, context(), failed(-0.15, 0.015, 1));
  EXPECT_EQ(first(causes).causes.size(), 2U);
  EXPECT_GT(first(causes).probability, 0.9);
  EXPECT_NE(first(causes).name.find(" or "), std::string::npos);
  EXPECT_NE(first(causes).told_apart_by.find("check filter"), std::string::npos);
  EXPECT_NE(first(causes).told_apart_by.find("check reed"), std::string::npos);
}

TEST(LikelyCause, SaysWhichReadingsSpeakForIt) {
  const std::string said = first(likely_causes({}, context(), failed(-0.15, 0.015, 1))).evidence;
  EXPECT_NE(said.find("Flow at 400\u00A0kPa is 15\u00A0% lower"), std::string::npos) << said;
}

TEST(LikelyCause, HasAmplitudesThatAreNeverNegative) {
  // Magnets the other way round would fit; there is no such fault.
  const auto causes = likely_causes({}, context(), failed(-0.10, -0.12, 1));
  for (const LikelyCause& cause : causes)
    EXPECT_EQ(std::count(cause.causes.begin(), cause.causes.end(), "magnets"), 0);
  EXPECT_EQ(first(causes).causes, std::vector<std::string>{kUnexplained});
}

TEST(LikelyCause, SaysUnexplainedWhenNothingFits) {
  const auto causes = likely_causes({}, context(), failed(0.3, -0.3, 1));
  EXPECT_EQ(first(causes).causes, std::vector<std::string>{kUnexplained});
}

TEST(LikelyCause, BlamesTheBenchWhenOnlyItsChannelExplainsIt) {
  const auto causes =
      likely_causes({}, context(), failed(0.08, 0, 1));  // no fault raises flow only
  EXPECT_EQ(first(causes).causes, std::vector<std::string>{"bench_flow"});
  EXPECT_TRUE(first(causes).of_bench);
}

TEST(LikelyCause, KnowsATestThatNeverStartedByItsTrip) {
  RawTrace trace;
  trace.trip.emplace();
  trace.trip->limit_id = "no_start";
  Evaluation nothing;
  nothing.grade.verdict = Verdict::fail;
  const auto causes = likely_causes(trace, context(), nothing);
  EXPECT_EQ(first(causes).causes, std::vector<std::string>{"stuck"});
  EXPECT_NE(first(causes).evidence.find("did not start"), std::string::npos);
}

TEST(LikelyCause, IsNotAskedOfAPassNorWithoutATable_LC1) {
  Evaluation passed = failed(-0.15, 0.015, 1);
  passed.grade.verdict = Verdict::pass;
  EXPECT_TRUE(likely_causes({}, context(), passed).empty());
  EXPECT_TRUE(likely_causes({}, Context{}, failed(-0.15, 0.015, 1)).empty());
}

TEST(LikelyCause, IsAskedOfABrokenWarnLimit_LC1) {
  Evaluation warned = failed(-0.15, 0.015, 1);
  warned.grade.verdict = Verdict::pass;
  warned.grade.limits.emplace_back();
  warned.grade.limits.back().warn = true;
  warned.grade.limits.back().verdict = Verdict::fail;
  EXPECT_FALSE(likely_causes({}, context(), warned).empty());
}

TEST(LikelyCause, GivesFiniteProbabilitiesInOrderWhateverTheReadings_LC2_LC4) {
  for (const double flow : {-1e9, -1.0, -0.15, 0.0, 0.4, 1e12})
    for (const double leak : {-1e6, 0.0, 1.0, 30.0, 1e15}) {
      double sum = 0, before = 2;
      for (const LikelyCause& cause : likely_causes({}, context(), failed(flow, 0.02, leak))) {
        EXPECT_GT(cause.probability, 0);
        EXPECT_LE(cause.probability, before);
        before = cause.probability;
        sum += cause.probability;
      }
      EXPECT_GT(sum, 0.9);
      EXPECT_LE(sum, 1 + 1e-9);
    }
}

TEST(LikelyCause, LeavesMissingReadingsOut) {
  Evaluation part = failed(0.05, 0.06, 1);
  part.metrics.erase(part.metrics.begin() + 2);
  EXPECT_EQ(first(likely_causes({}, context(), part)).causes, std::vector<std::string>{"magnets"});
}

}  // namespace
}  // namespace endgate::analysis
