// Gauge studies, lifetimes, several metrics together: against published examples.

#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <random>
#include <sstream>

#include "analysis/statistics/distribution.h"
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
  EXPECT_NEAR(study->repeat.sigma, 0.199933179721, 1e-9);
  EXPECT_NEAR(study->bench.sigma, 0.226837521496, 1e-9);
  EXPECT_NEAR(study->measurement.sigma, 0.302371522323, 1e-9);
  EXPECT_NEAR(study->unit.sigma, 1.04232749384, 1e-9);
  EXPECT_NEAR(study->measurement.share, 0.0776, 5e-5);  // as the manual prints it
  EXPECT_NEAR(study->categories, 4.86051647662, 1e-8);
}

TEST(GaugeStudy, KeptApartTheInteractionIsNegativeAndSaysSo) {
  const auto study = gauge_study(manual_study(), 1.0);
  EXPECT_NEAR(study->repeat.sigma, std::sqrt(0.04598222222222), 1e-9);
  EXPECT_TRUE(study->negative);
  EXPECT_EQ(study->interaction.sigma, 0);
}

// The interval of the repeats is the one of a variance: SS/chi2, 78 degrees of freedom when
// pooled.
TEST(GaugeStudy, TheIntervalOfTheRepeatsIsThatOfAVariance) {
  const auto study = gauge_study(manual_study());
  const double squares = 78 * std::pow(study->repeat.sigma, 2);
  EXPECT_NEAR(study->repeat.sigma_95.low, std::sqrt(squares / chi_square_quantile(0.975, 78)),
              1e-3);
  EXPECT_NEAR(study->repeat.sigma_95.high, std::sqrt(squares / chi_square_quantile(0.025, 78)),
              1e-3);
}

// Three appraisers: F = 34.44 on 2 and 18 is far beyond the 2.5 % point, so there is a difference;
// made a hundred times smaller it is none, and then the interval reaches down to 0.
TEST(GaugeStudy, AnIntervalReachesDownToNothingJustWhenTheTestSeesNothing) {
  EXPECT_GT(gauge_study(manual_study())->bench.sigma_95.low, 0.05);
  auto readings = manual_study();
  const double means[] = {0.1903333, 0.0683333, -0.2543333};
  for (StudyReading& reading : readings) reading.value -= 0.99 * means[reading.bench];
  EXPECT_EQ(gauge_study(readings)->bench.sigma_95.low, 0);
}

// 120 studies of 8 units, 3 benches, 3 repeats made from known parts.
TEST(GaugeStudy, TheIntervalsHoldTheTruthAboutAsOftenAsTheySay) {
  constexpr double kUnits = 2, kBenches = 0.7, kRepeats = 1;
  int measurement = 0, unit = 0, share = 0;
  constexpr int kStudies = 120;
  const double truth = std::hypot(kBenches, kRepeats);
  for (unsigned seed = 1; seed <= kStudies; ++seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal;
    double units[8], benches[3];
    for (double& u : units) u = kUnits * normal(random);
    for (double& b : benches) b = kBenches * normal(random);
    std::vector<StudyReading> readings;
    for (int i = 0; i < 8 * 3 * 3; ++i)
      readings.push_back(
          {i % 8, i / 8 % 3, units[i % 8] + benches[i / 8 % 3] + kRepeats * normal(random)});
    const auto study = gauge_study(readings);
    const auto holds = [](const Interval& i, double x) { return i.low <= x && x <= i.high; };
    measurement += holds(study->measurement.sigma_95, truth);
    unit += holds(study->unit.sigma_95, kUnits);
    share += holds(study->measurement.share_95, truth * truth / (truth * truth + kUnits * kUnits));
  }
  for (const int held : {measurement, unit, share}) {
    EXPECT_GE(held, 0.90 * kStudies);
    EXPECT_LT(held, kStudies);
  }
}

TEST(GaugeStudy, AnUnbalancedStudyAndOneThatDoesNotScatterAreRefused) {
  auto readings = manual_study();
  readings.pop_back();
  EXPECT_FALSE(gauge_study(readings));
  readings.back().unit = 0;  // the right number, in the wrong places
  EXPECT_FALSE(gauge_study(readings));
  EXPECT_FALSE(gauge_study({}));
  for (StudyReading& reading : readings = manual_study()) reading.value = reading.unit;
  EXPECT_FALSE(gauge_study(readings));
}

TEST(TypeOneStudy, OneUnitAgainstItsKnownValue) {
  // Width 10, s 0.11, bias 0.12 (calculated): 3.0303030, 2.6666667.
  const double d = 0.11 / std::sqrt(2.0);
  const auto study = type_one_study(std::vector{5.12 - d, 5.12 + d}, {5}, 10);
  EXPECT_NEAR(*study->cg, 3.0303030303, 1e-9);
  EXPECT_NEAR(*study->cgk, 2.6666666667, 1e-9);
  EXPECT_FALSE(type_one_study(std::vector{5.12 - d, 5.12 + d}, {5}, std::nullopt)->cg);
}

// s = 0.11 of 25: t(24) 2.0639, chi2(24) 12.401 and 39.364 (common tables).
TEST(TypeOneStudy, ItsIntervalsAreThoseOfTheTables) {
  std::vector<double> values;
  const double d = 0.11 * std::sqrt(24.0 / 24);
  for (int i = 0; i < 12; ++i) values.insert(values.end(), {5.12 - d, 5.12 + d});
  values.push_back(5.12);
  const auto study = type_one_study(values, {5}, 10);
  EXPECT_NEAR(study->sigma, 0.11, 1e-12);
  EXPECT_NEAR(study->bias_95.high, 0.12 + 2.0639 * 0.11 / 5, 1e-5);
  EXPECT_NEAR(study->sigma_95.low, 0.11 * std::sqrt(24 / 39.364), 1e-5);
  EXPECT_NEAR(study->sigma_95.high, 0.11 * std::sqrt(24 / 12.401), 1e-5);
  EXPECT_TRUE(study->biased());
  const auto doubtful = type_one_study(values, {5, 0.1}, 10);
  EXPECT_FALSE(doubtful->biased()) << "the known value itself is not known that well";
  EXPECT_NEAR(doubtful->bias_95.high, 0.12 + 1.96 * std::hypot(0.1, 0.022), 1e-3);
}

TEST(TypeOneStudy, OneValueAndValuesThatAreAlikeAreRefused) {
  EXPECT_FALSE(type_one_study(std::vector{5.0}, {5}, 10));
  EXPECT_FALSE(type_one_study(std::vector{5.0, 5.0, 5.0}, {5}, 10));
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

TEST(Lifetime, TheTrialOfFreireichGivesItsSteps) {
  std::vector<Life> treated;
  for (const auto& row : judge::published_rows("reliability/freireich.csv"))
    if (row[2] == 0) treated.push_back({row[0], row[1] == 1});
  const auto steps = share_still_out(treated);
  const auto shares = judge::published_numbers("reliability/freireich.toml", "km_treated");
  const auto errors = judge::published_numbers("reliability/freireich.toml", "km_se_treated");
  ASSERT_EQ(steps.size(), shares.size());
  for (std::size_t i = 0; i < steps.size(); ++i) {
    EXPECT_NEAR(steps[i].share, shares[i], 1e-6);
    EXPECT_NEAR(steps[i].u, errors[i], 1e-6);
  }
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
