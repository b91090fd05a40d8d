// Does the report of judges count what it says?

#include "fixtures/history/perfect_judge.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "analysis/limit_subject.h"
#include "tests/history/loaded_scenario.h"

namespace endgate::history {
namespace {

constexpr const char* kJudgedModel = "P1-60-12";

const analysis::LimitSet& judged_limits() { return scenario().limits.at(kJudgedModel).limits; }

// A unit in the middle of every limit but one, whose true value and u are given.
TestedUnit unit_near(const std::string& metric, double truth, double u, analysis::Verdict verdict) {
  TestedUnit unit;
  unit.serial = "QH2601-0001";
  unit.model = kJudgedModel;
  unit.evaluation.grade.verdict = verdict;
  unit.truly_good = true;
  for (const analysis::Limit& limit : judged_limits().limits) {
    const double inside = limit.lower && limit.upper ? 0.5 * (*limit.lower + *limit.upper)
                          : limit.lower              ? 2 * *limit.lower
                                                     : 0.5 * *limit.upper;
    unit.truth[limit.metric] = inside;
    analysis::Metric known;
    known.id = limit.metric;
    known.value = inside;
    known.u = 1e-4 * inside;
    if (limit.metric == metric) {
      unit.truth[metric] = truth;
      known.u = u;
      unit.truly_good =
          (!limit.lower || truth >= *limit.lower) && (!limit.upper || truth <= *limit.upper);
    }
    unit.evaluation.metrics.push_back(known);
  }
  return unit;
}

double lower_of(const std::string& metric) {
  return *std::ranges::find(judged_limits().limits, metric, &analysis::Limit::metric)->lower;
}

// On its limit with guard bands of 1.645 u a unit passes in 5 % of readings and fails in 5 %.
TEST(PerfectJudge, PassesAUnitOnItsLimitAsOftenAsItsGuardBandSays) {
  const double limit = lower_of("fad_400");
  std::vector<TestedUnit> units;
  for (int i = 0; i < 40; ++i) {
    units.push_back(unit_near("fad_400", limit, 0.01 * limit, analysis::Verdict::undecided));
    units.back().serial += std::to_string(i);
  }
  const JudgesCompared judges = compare_judges(scenario(), units, 5);
  EXPECT_NEAR(judges.perfect_good.pass / 40, 0.05, 0.008);  // 8000 readings: 0.0024
  EXPECT_NEAR(judges.perfect_good.fail / 40, 0.05, 0.008);
  EXPECT_NEAR(judges.perfect_good.undecided / 40, 0.90, 0.011);
  EXPECT_EQ(judges.bench_good.undecided, 40);
  EXPECT_EQ(judges.perfect_bad.fail, 0);
}

TEST(PerfectJudge, SaysHowFarAnEscapeLiesBeyondItsLimit) {
  const double limit = lower_of("fad_400"), u = 0.01 * limit;
  const JudgesCompared judges =
      compare_judges(scenario(),
                     {unit_near("fad_400", limit - 0.5 * u, u, analysis::Verdict::pass),
                      unit_near("fad_400", limit - 3 * u, u, analysis::Verdict::pass),
                      unit_near("fad_400", limit - 3 * u, u, analysis::Verdict::fail)},
                     5);
  ASSERT_EQ(judges.escapes.size(), 2U);
  EXPECT_NEAR(judges.escapes[0].distance_in_expanded_u, 1.5, 1e-9);
  EXPECT_NEAR(judges.escapes[1].distance_in_expanded_u, 0.25, 1e-9);
  EXPECT_EQ(judges.escapes[0].metric, "fad_400");
  EXPECT_EQ(judges.bench_bad.fail, 1);
  EXPECT_NEAR(judges.perfect_beyond, 0, 0.02);
}

// What lasts moves all metrics of a reading together: two metrics on their limits pass in 5 % of the
// readings under one cause, in a quarter of a per cent when each has errors of its own.
TEST(PerfectJudge, MovesMetricsTogetherThatShareACause) {
  const auto both = [](const std::string& cause) {
    TestedUnit unit = unit_near("fad_400", lower_of("fad_400"), 0.2, analysis::Verdict::undecided);
    for (analysis::Metric& metric : unit.evaluation.metrics) {
      if (metric.id != "fad_400" && metric.id != "fad_200") continue;
      unit.truth[metric.id] = lower_of(metric.id);
      metric.u = 0.01 * lower_of(metric.id);
      metric.parts = {{cause, *metric.u}};
    }
    std::vector<TestedUnit> units(20, unit);
    for (std::size_t i = 0; i < units.size(); ++i) units[i].serial += std::to_string(i);
    return compare_judges(scenario(), units, 5).perfect_good.pass / 20;
  };
  EXPECT_NEAR(both("calibration north@1/flow"), 0.05, 0.015);
  EXPECT_LT(both("random"), 0.01);
}

// A band of the curve and a relation are no metrics that a unit could lack.
TEST(PerfectJudge, JudgesUnderLimitsOnTheCurveAndOnRelations) {
  Scenario with = scenario();
  TestedUnit unit = unit_near("fad_400", 2 * lower_of("fad_400"), 1e-6, analysis::Verdict::pass);
  analysis::Limit band;
  band.metric = analysis::kCurveSubject;
  band.points = {{0, 0.0, {}}, {400e3, 0.0, {}}};
  analysis::Limit relation;
  relation.metric = analysis::relation_subject("fad_400", "fad_200");
  relation.slope = 1;
  relation.lower = -1;
  relation.upper = 1;
  auto& limits = with.limits.at(unit.model).limits.limits;
  limits.push_back(band);
  limits.push_back(relation);
  EXPECT_NEAR(compare_judges(with, {unit}, 5).perfect_good.pass, 1, 1e-9);
  limits.back().lower = 0.9;
  unit.truly_good = false;
  EXPECT_NEAR(compare_judges(with, {unit}, 5).perfect_bad.fail, 1, 1e-9);
}

TEST(PerfectJudge, FailsAUnitThatDoesNotRun) {
  TestedUnit unit = unit_near("fad_400", 1, 0.1, analysis::Verdict::fail);
  unit.truth.erase("fad_0");
  unit.truly_good = false;
  const JudgesCompared judges = compare_judges(scenario(), {unit}, 5);
  EXPECT_NEAR(judges.perfect_bad.fail, 1, 1e-9);
}

}  // namespace
}  // namespace endgate::history
