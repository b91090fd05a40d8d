// analysis/statistics/unit_risk.h: one limit against figures computed another way, several limits
// against what follows from them.

#include "analysis/statistics/unit_risk.h"

#include <gtest/gtest.h>

#include <cmath>

#include "tests/analysis/judge_published.h"

namespace endgate::statistics {
namespace {

constexpr std::int64_t kUnits = 400'000;
const std::string kFile = "conformity/jcgm-106.toml";

double number(const std::string& key) { return judge::published_number(kFile, key); }

// The production of the worked figures: N(0, 2.5), u = 0.6, lower limit -5, bands of 1.645 u.
HeldMetric held(const std::string& id, const std::string& cause) {
  HeldMetric each;
  each.limit = {.metric = id, .lower = number("production.lower"), .upper = {}};
  each.error.u = number("production.u");
  if (!cause.empty()) each.error.parts = {{cause, *each.error.u}};
  return each;
}

UnitRisk risk_of(const std::vector<HeldMetric>& held, double correlation) {
  const double variance = std::pow(number("production.u0"), 2);
  const auto p = static_cast<Eigen::Index>(held.size());
  Eigen::MatrixXd covariance = Eigen::MatrixXd::Constant(p, p, correlation * variance);
  covariance.diagonal().setConstant(variance);
  return unit_risk(held, Eigen::VectorXd::Zero(p), covariance, kUnits);
}

double tolerance(double share) { return 5 * std::sqrt(share * (1 - share) / kUnits); }

TEST(UnitRisk, OfOneLimitIsWhatQuadratureSays) {
  const UnitRisk risk = risk_of({held("fad_0", "random")}, 0);
  for (const auto& [share, key] :
       {std::pair{risk.pass, "pass"}, {risk.fail, "fail"}, {risk.undecided, "undecided"}}) {
    const double expected = number(std::string("three_outcomes.") + key);
    EXPECT_NEAR(share, expected, tolerance(expected)) << key;
  }
  const double escapes = judge::published_numbers(kFile, "production.consumer_risks")[1];
  EXPECT_NEAR(risk.bad_passed, escapes, tolerance(escapes));
}

TEST(UnitRisk, OfIndependentLimitsMultiplies) {
  const double alone = number("three_outcomes.pass");
  const UnitRisk risk = risk_of({held("fad_0", "random"), held("fad_200", "random")}, 0);
  EXPECT_NEAR(risk.pass, alone * alone, tolerance(alone * alone));
}

TEST(UnitRisk, OfLimitsThatShareTruthAndErrorIsThatOfOne) {
  const UnitRisk one = risk_of({held("fad_0", "calibration flow@1")}, 0);
  const UnitRisk both =
      risk_of({held("fad_0", "calibration flow@1"), held("fad_200", "calibration flow@1")}, 1);
  EXPECT_NEAR(both.pass, one.pass, 2 * tolerance(one.pass));
  EXPECT_NEAR(both.good_failed, one.good_failed, 2 * tolerance(one.good_failed));
}

TEST(UnitRisk, ARandomCauseOfOneNameIsDrawnForEachMetricAlone) {
  const UnitRisk shared =
      risk_of({held("fad_0", "calibration flow@1"), held("fad_200", "calibration flow@1")}, 1);
  const UnitRisk apart = risk_of({held("fad_0", "random"), held("fad_200", "random")}, 1);
  EXPECT_LT(apart.pass, shared.pass - tolerance(shared.pass));
}

// What the bench always shows too high does not scatter what it shows, but the truth behind it.
TEST(UnitRisk, ALastingErrorMovesTheTruthAndNotWhatIsMeasured) {
  const UnitRisk lasting = risk_of({held("fad_0", "calibration flow@1")}, 0);
  const UnitRisk random = risk_of({held("fad_0", "random")}, 0);
  EXPECT_GT(lasting.pass, random.pass + tolerance(random.pass));
  EXPECT_GT(lasting.bad, random.bad + tolerance(random.bad));
}

TEST(UnitRisk, ScatterOfTheErrorsIsTakenOutAndCorrelationKept) {
  Eigen::MatrixXd measured(2, 2);
  measured << 4, 3, 3, 9;
  const Eigen::MatrixXd truth = without_random_errors(measured, Eigen::Vector2d(1, 3));
  EXPECT_NEAR(truth(0, 0), 3, 1e-12);
  EXPECT_NEAR(truth(1, 1), 0.9, 1e-12) << "at least a tenth stays";
  EXPECT_NEAR(truth(0, 1) / std::sqrt(truth(0, 0) * truth(1, 1)), 0.5, 1e-12);
}

}  // namespace
}  // namespace endgate::statistics
