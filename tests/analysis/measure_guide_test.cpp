// Does the propagation by half differences give what the guide's own examples give?
//
// JCGM 100:2008, annexes H.1 and H.2; source of data and results in
// fixtures/published/gum/README.md.

#include <gtest/gtest.h>

#include <array>
#include <cmath>

#include "analysis/half_difference.h"
#include "tests/analysis/guide_propagation.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

TEST(Guide, EndGaugeOfAnnexH1HasItsUncertainty) {
  const auto given = [](const std::string& name) {
    return judge::published_number("gum/h1-end-gauge.toml", name);
  };
  const std::array<InputQuantity, 6> inputs{{{given("ls"), given("u_ls")},
                                             {given("d"), given("u_d")},
                                             {given("alphas"), given("u_alphas")},
                                             {given("theta"), given("u_theta")},
                                             {given("dalpha"), given("u_dalpha")},
                                             {given("dtheta"), given("u_dtheta")}}};
  const MeasurementModel length_nm = [](std::span<const double> x) {
    return Results{x[0] + x[1] - x[0] * (x[4] * x[3] + x[2] * x[5])};
  };
  const Propagated found = propagate(length_nm, inputs);
  EXPECT_NEAR(1e-6 * found.values[0], given("published_l_mm"), 5e-7);
  EXPECT_NEAR(found.u(0), given("published_u_nm"), 0.5);
  EXPECT_NEAR(found.u(0), given("recomputed_u_nm"), 1e-6);
  // H.1.7: the product of two inputs near zero is of second order and not in it.
  EXPECT_GT(given("recomputed_u_second_order_nm"), found.u(0) + 2);
}

// Means of five simultaneous readings, their u and their correlation: annex H.2, table H.2.
struct Readings {
  std::vector<InputQuantity> inputs;
  std::vector<double> correlation;
};

Readings readings_of_h2() {
  const auto rows = judge::published_rows("gum/h2-impedance.csv");
  const auto n = static_cast<double>(rows.size());
  const std::array<double, 3> to_si{1, 1e-3, 1};  // V, mA, rad
  std::array<double, 3> mean{};
  for (const auto& row : rows)
    for (std::size_t i = 0; i < 3; ++i) mean[i] += to_si[i] * row[i] / n;
  std::array<std::array<double, 3>, 3> covariance{};
  for (const auto& row : rows)
    for (std::size_t i = 0; i < 3; ++i)
      for (std::size_t j = 0; j < 3; ++j)
        covariance[i][j] +=
            (to_si[i] * row[i] - mean[i]) * (to_si[j] * row[j] - mean[j]) / (n * (n - 1));
  Readings readings;
  for (std::size_t i = 0; i < 3; ++i)
    readings.inputs.push_back({mean[i], std::sqrt(covariance[i][i])});
  for (std::size_t i = 0; i < 3; ++i)
    for (std::size_t j = 0; j < 3; ++j)
      readings.correlation.push_back(covariance[i][j] /
                                     std::sqrt(covariance[i][i] * covariance[j][j]));
  return readings;
}

Results impedance(std::span<const double> x) {
  const double z = x[0] / x[1];
  return {z * std::cos(x[2]), z * std::sin(x[2]), z};
}

TEST(Guide, CorrelatedInputsOfAnnexH2GiveTheirUncertaintiesAndCorrelations) {
  const std::string file = "gum/h2-impedance.toml";
  const Readings readings = readings_of_h2();
  const Propagated found = propagate(impedance, readings.inputs);
  const auto expect = [&](std::size_t k, const std::string& name, double u_digit) {
    EXPECT_NEAR(found.values[k], judge::published_number(file, "published_" + name), 5.1e-4);
    EXPECT_NEAR(found.u(k, readings.correlation),
                judge::published_number(file, "published_u_" + name), u_digit);
  };
  expect(0, "R", 5e-4);
  expect(1, "X", 1e-3);  // printed 0.295, recomputed 0.2956 from the rounded data
  expect(2, "Z", 5e-4);
  const auto r = [&](std::size_t k, std::size_t l) {
    return found.covariance(k, l, readings.correlation) /
           (found.u(k, readings.correlation) * found.u(l, readings.correlation));
  };
  EXPECT_NEAR(r(0, 1), judge::published_number(file, "published_r_RX"), 1e-3);
  EXPECT_NEAR(r(0, 2), judge::published_number(file, "published_r_RZ"), 1e-3);
  EXPECT_NEAR(r(1, 2), judge::published_number(file, "published_r_XZ"), 1e-3);
}

TEST(Guide, InputsTakenAsIndependentWouldBeWrongInAnnexH2) {
  const Readings readings = readings_of_h2();
  const Propagated found = propagate(impedance, readings.inputs);
  const auto ignored =
      judge::published_numbers("gum/h2-impedance.toml", "recomputed_u_if_correlation_ignored");
  for (std::size_t k = 0; k < 3; ++k) EXPECT_NEAR(found.u(k), ignored[k], 1e-5 * ignored[k]);
}

TEST(Guide, ASideWithoutAnAnswerLeavesTheOther) {
  const double none = std::nan("");
  EXPECT_EQ(half_difference(1, 2, 5), 2);
  EXPECT_EQ(half_difference(none, 2, 5), 3);
  EXPECT_EQ(half_difference(1, 2, none), 1);
  EXPECT_EQ(half_difference(none, 2, none), 0);
}

}  // namespace
}  // namespace endgate::analysis
