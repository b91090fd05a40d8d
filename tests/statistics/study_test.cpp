// Gauge studies, lifetimes, several metrics together: against published examples.

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>

#include "analysis/statistics/gauge_study.h"
#include "analysis/statistics/joint.h"
#include "analysis/statistics/lifetime.h"
#include "tests/analysis/judge_published.h"

namespace endgate::statistics {
namespace {

std::vector<StudyReading> manual_study() {
  std::ifstream file(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/published/msa/crossed-grr.csv");
  std::vector<StudyReading> readings;
  std::string line;
  std::getline(file, line);
  while (std::getline(file, line)) {
    int unit = 0, trial = 0;
    char who = 0, comma = 0;
    double value = 0;
    std::istringstream(line) >> unit >> comma >> who >> comma >> trial >> comma >> value;
    readings.push_back({unit - 1, who - 'A', value});
  }
  return readings;
}

TEST(GaugeStudy, TheManualsExampleComesOutToEveryPublishedDigit) {
  // MSA reference manual, 4th ed., chapter III: EV, AV, GRR, PV, ndc 4.
  const auto study = gauge_study(manual_study());
  ASSERT_TRUE(study);
  EXPECT_TRUE(study->pooled);
  EXPECT_NEAR(study->interaction_p, 0.97411, 1e-5);
  EXPECT_NEAR(study->repeat, 0.199933179721, 1e-9);
  EXPECT_NEAR(study->bench, 0.226837521496, 1e-9);
  EXPECT_NEAR(study->measurement, 0.302371522323, 1e-9);
  EXPECT_NEAR(study->unit, 1.04232749384, 1e-9);
  EXPECT_NEAR(study->categories, 4.86051647662, 1e-8);
}

TEST(GaugeStudy, KeptApartTheInteractionIsNegativeAndSaysSo) {
  const auto study = gauge_study(manual_study(), 1.0);
  EXPECT_NEAR(study->repeat, std::sqrt(0.04598222222222), 1e-9);
  EXPECT_TRUE(study->negative);
  EXPECT_EQ(study->interaction, 0);
}

TEST(GaugeStudy, AnUnbalancedStudyIsRefused) {
  auto readings = manual_study();
  readings.pop_back();
  EXPECT_FALSE(gauge_study(readings));
  EXPECT_FALSE(gauge_study({}));
}

TEST(GaugeStudy, OneUnitAgainstItsKnownValue) {
  // Width 10, s 0.11, bias 0.12 (calculated): 3.0303030, 2.6666667.
  const double d = 0.11 / std::sqrt(2.0);
  const TypeOneStudy study = type_one_study({5.12 - d, 5.12 + d}, 5, 10);
  EXPECT_NEAR(study.cg, 3.0303030303, 1e-9);
  EXPECT_NEAR(study.cgk, 2.6666666667, 1e-9);
}

TEST(Lifetime, TheHandbooksWeibullWithHalfOfItCensored) {
  // NIST/SEMATECH e-Handbook 8.4.1.3: scale 606.5280, shape 1.7208, ln L -75.135.
  std::vector<Life> lives;
  for (const auto& row : judge::published_rows("reliability/nist-weibull.csv"))
    lives.push_back({row[0], row[1] == 1});
  const auto fit = fit_weibull(lives);
  ASSERT_TRUE(fit);
  EXPECT_NEAR(fit->scale, 606.527558, 1e-4);
  EXPECT_NEAR(fit->shape, 1.72079726, 1e-7);
  EXPECT_NEAR(fit->log_likelihood, -75.1346182, 1e-6);
  EXPECT_NEAR(std::log(fit->scale_95.high / fit->scale) / 1.959963984540054, 0.20594391, 1e-6);
  EXPECT_NEAR(std::log(fit->shape_95.high / fit->shape) / 1.959963984540054, 0.29181276, 1e-6);
  EXPECT_NEAR(fit->returned_by(200), 0.13775204, 1e-7);
  lives.resize(2);
  EXPECT_FALSE(fit_weibull(lives));
}

TEST(Lifetime, TheTrialOfFreireichGivesItsStepsAndItsLogRank) {
  std::vector<Life> treated, others;
  for (const auto& row : judge::published_rows("reliability/freireich.csv"))
    (row[2] == 0 ? treated : others).push_back({row[0], row[1] == 1});
  const auto steps = share_still_out(treated);
  const auto shares = judge::published_numbers("reliability/freireich.toml", "km_treated");
  const auto errors = judge::published_numbers("reliability/freireich.toml", "km_se_treated");
  ASSERT_EQ(steps.size(), shares.size());
  for (std::size_t i = 0; i < steps.size(); ++i) {
    EXPECT_NEAR(steps[i].share, shares[i], 1e-6);
    EXPECT_NEAR(steps[i].u, errors[i], 1e-6);
  }
  EXPECT_NEAR(log_rank(treated, others), 16.7929409892, 1e-8);
}

TEST(Joint, ThePerspirationDataAndTheLimitsOfBothPhases) {
  // Johnson and Wichern, chapter 5: T2 = 9.74 for the mean of 20 against (4, 50, 10).
  const auto rows = judge::published_rows("charts/sweat.csv");
  Eigen::MatrixXd units(20, 3);
  for (Eigen::Index i = 0; i < 20; ++i)
    for (Eigen::Index j = 0; j < 3; ++j)
      units(i, j) = rows[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)];
  const Joint joint = joint_of(units);
  const Eigen::VectorXd aimed = Eigen::Vector3d(4, 50, 10);
  EXPECT_NEAR(20 * t_squared(joint, aimed), 9.738772855435649, 1e-9);
  EXPECT_NEAR(t_squared_limit(JointPhase::first, 30, 3, 0.0027), 11.6118623, 1e-6);
  EXPECT_NEAR(t_squared_limit(JointPhase::later, 30, 3, 0.0027), 20.2025252, 1e-6);
  EXPECT_NEAR(t_squared_limit(JointPhase::known, 30, 3, 0.0027), 14.1562525, 1e-6);
}

TEST(Joint, TheMetricThatIsOddCarriesTheShare) {
  Joint joint{.mean = Eigen::Vector2d(0, 0), .covariance = Eigen::Matrix2d::Identity(), .m = 100};
  const Eigen::VectorXd shares = share_by_metric(joint, Eigen::Vector2d(0.1, 4));
  EXPECT_NEAR(shares(1), 16, 1e-12);
  EXPECT_NEAR(shares(0), 0.01, 1e-12);
}

}  // namespace
}  // namespace endgate::statistics
