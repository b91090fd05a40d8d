#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "analysis/calibration_fit.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

std::vector<CalibrationPoint> even_points(std::size_t count, double gain, double offset, double u,
                                          double scatter, std::uint32_t seed) {
  std::mt19937 bits(seed);
  std::normal_distribution<double> noise(0, scatter);
  std::vector<CalibrationPoint> points;
  for (std::size_t i = 0; i < count; ++i) {
    const double reading = 100.0 * static_cast<double>(i) / static_cast<double>(count - 1);
    const double wobble = scatter > 0 ? noise(bits) : 0;
    points.push_back({reading, gain * reading + offset + wobble, u});
  }
  return points;
}

TEST(CalibrationFit, GivesTheThermometerOfTheGuideBack_CF1) {
  const std::string values = "gum/h3-thermometer.toml";
  std::vector<CalibrationPoint> points;
  for (const auto& row : judge::published_rows("gum/h3-thermometer.csv"))
    points.push_back({row[0], row[0] + row[1], 0});
  const CalibrationFit fit = fit_calibration(points).value();
  EXPECT_NEAR(fit.at(20) - 20, judge::published_number(values, "published_y1"), 0.00005);
  EXPECT_NEAR(fit.gain - 1, judge::published_number(values, "published_y2"), 0.000005);
  EXPECT_NEAR(fit.scatter_si, judge::published_number(values, "published_s"), 0.00005);
  EXPECT_NEAR(fit.u_line(20) / fit.widening, judge::published_number(values, "published_u_y1"),
              0.00005);
  EXPECT_NEAR(fit.u_gain / fit.widening, judge::published_number(values, "published_u_y2"),
              0.000005);
  EXPECT_NEAR(fit.at(30) - 30, judge::published_number(values, "published_b_at_30"), 0.00005);
  EXPECT_NEAR(fit.u_line(30) / fit.widening, judge::published_number(values, "published_u_b_at_30"),
              0.00005);
}

TEST(CalibrationFit, GivesTheOzoneMonitorsOfNorrisBack_CF1) {
  std::vector<CalibrationPoint> points;
  for (const auto& row : judge::published_rows("nist-strd/Norris.csv"))
    points.push_back({row.at(1), row.at(0), 0});
  const CalibrationFit fit = fit_calibration(points).value();
  // NIST StRD, Norris: certified values.
  EXPECT_NEAR(fit.offset_si, -0.262323073774029, 1e-10);
  EXPECT_NEAR(fit.gain, 1.00211681802045, 1e-12);
  EXPECT_NEAR(fit.scatter_si, 0.884796396144373, 1e-11);
  EXPECT_NEAR(fit.u_gain / fit.widening, 0.429796848199937e-03, 1e-14);
}

TEST(CalibrationFit, TheTwoNumbersCoverTheLineAndTheReferenceAtEveryPoint_CF2) {
  for (std::uint32_t seed = 1; seed <= 200; ++seed) {
    auto points = even_points(3 + seed % 7, 1.01, -3 + 0.1 * (seed % 60), 0.1, 0.3, seed);
    for (CalibrationPoint& point : points)
      point.u_reference_si = std::hypot(0.1, 0.002 * point.reference_si);
    const CalibrationFit fit = fit_calibration(points).value();
    for (const CalibrationPoint& point : points) {
      const double y = fit.at(point.reading_si);
      const double said = std::hypot(fit.u_gain_rel * y, fit.u_offset_si);
      EXPECT_GE(said * (1 + 1e-9), fit.u_line(point.reading_si)) << seed;
      EXPECT_GE(std::hypot(fit.u_gain_rel * point.reference_si, fit.u_offset_si) * (1 + 1e-9),
                point.u_reference_si)
          << seed;
    }
  }
}

TEST(CalibrationFit, ManyPointsDoNotMakeTheReferenceBetter_CF3) {
  const CalibrationFit few = fit_calibration(even_points(5, 1, 0, 0.5, 0, 1)).value();
  const CalibrationFit many = fit_calibration(even_points(500, 1, 0, 0.5, 0.01, 1)).value();
  EXPECT_GE(few.u_offset_si, 0.5);
  EXPECT_GE(many.u_offset_si, 0.5);
}

TEST(CalibrationFit, TwiceTheUOfTheLineCoversTheTruthInNineteenOfTwentyCalibrations) {
  int covered = 0;
  constexpr int kRuns = 4000;
  for (std::uint32_t seed = 1; seed <= kRuns; ++seed) {
    const CalibrationFit fit =
        fit_calibration(even_points(5, 1.02, 4, 0, 0.2, 1000 + seed)).value();
    if (std::abs(fit.at(80) - (1.02 * 80 + 4)) <= 2 * fit.u_line(80)) ++covered;
  }
  EXPECT_NEAR(covered / static_cast<double>(kRuns), 0.9545, 0.011);  // 3 sigma of the count
}

TEST(CalibrationFit, RefusesAndNamesThePoint_CF4) {
  const auto kind = [](std::vector<CalibrationPoint> points) {
    return fit_calibration(points).error();
  };
  EXPECT_EQ(kind({{0, 0, 0}, {1, 1, 0}}).kind, RefusalKind::too_few_points);
  EXPECT_EQ(kind({{0, 0, 0}, {1, NAN, 0}, {2, 2, 0}}).index, 1U);
  EXPECT_EQ(kind({{0, 0, 0}, {1, 1, 0}, {2, 2, -1}}).index, 2U);
  EXPECT_EQ(kind({{1, 1, 0}, {1, 2, 0}, {1, 3, 0}}).kind, RefusalKind::span_too_narrow);
  EXPECT_EQ(kind({{0, 3, 0}, {1, 2, 0}, {2, 1, 0}}).kind, RefusalKind::value_out_of_domain);
}

}  // namespace
}  // namespace endgate::analysis
