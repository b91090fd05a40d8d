// NIST StRD linear regression, all eleven sets (fixtures/published/nist-strd, certified values).
// Prints the digits reached; analysis/README.md, "Least squares", keeps the table.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdio>

#include "analysis/least_squares.h"
#include "tests/analysis/judge_polynomial.h"
#include "tests/analysis/judge_published.h"

namespace endgate::analysis {
namespace {

using judge::digits_in_common;

struct StrdSet {
  std::string name;
  std::size_t degree;  // of a polynomial in x; 0: a general linear model
  bool intercept;
  double parameters;   // digits asked of the worst parameter, raw regressors
  double residual_sd;  // digits asked of the residual standard deviation
};

// One digit of slack against what g++ 12 reaches, for other compilers.
const StrdSet kSets[] = {
    {"Norris", 1, true, 11, 13},  {"Pontius", 2, true, 11, 12}, {"NoInt1", 0, false, 13, 13},
    {"NoInt2", 0, false, 13, 13}, {"Filip", 10, true, 6, 8},    {"Longley", 0, true, 10, 13},
    {"Wampler1", 5, true, 8, 8},  {"Wampler2", 5, true, 11, 8}, {"Wampler3", 5, true, 8, 13},
    {"Wampler4", 5, true, 7, 13}, {"Wampler5", 5, true, 5, 13},
};

std::string toml_of(const StrdSet& set) { return "nist-strd/" + set.name + ".toml"; }

std::vector<std::vector<double>> rows_of(const StrdSet& set) {
  return judge::published_rows("nist-strd/" + set.name + ".csv");
}

std::vector<double> raw_regressors(const StrdSet& set, const std::vector<double>& row) {
  std::vector<double> regressors;
  if (set.intercept) regressors.push_back(1);
  if (set.degree == 0) regressors.insert(regressors.end(), row.begin() + 1, row.end());
  for (std::size_t power = 1; power <= set.degree; ++power)
    regressors.push_back(std::pow(row[1], static_cast<double>(power)));
  return regressors;
}

LinearSystem raw_system(const StrdSet& set) {
  const auto rows = rows_of(set);
  LinearSystem system(raw_regressors(set, rows.front()).size());
  for (const auto& row : rows) system.add(raw_regressors(set, row), {row[0], 1});
  return system;
}

double residual_sd(const LinearFit& fit) {
  return std::sqrt(fit.chi_square / fit.degrees_of_freedom);
}

double worst_digits(const std::vector<double>& values, const std::vector<double>& certified) {
  double worst = 16;
  for (std::size_t i = 0; i < certified.size(); ++i)
    worst = std::min(worst, digits_in_common(values[i], certified[i]));
  return worst;
}

std::vector<double> standard_deviations(const LinearFit& fit) {
  std::vector<double> deviations;
  for (std::size_t i = 0; i < fit.parameters.size(); ++i)
    deviations.push_back(fit.u_of(i) * residual_sd(fit));
  return deviations;
}

Polynomial scaled_fit(const StrdSet& set) {
  std::vector<PolynomialPoint> points;
  for (const auto& row : rows_of(set)) points.push_back({row[1], {row[0], 1}});
  return fit_polynomial(points, set.degree).value();
}

TEST(NistStrd, AllElevenLinearSetsReachTheirDigits_LS1) {
  std::printf("%-9s %11s %11s %12s %18s\n", "set", "parameters", "their u", "residual SD",
              "residual SD scaled");
  for (const StrdSet& set : kSets) {
    const Outcome<LinearFit> fit = solve_least_squares(raw_system(set));
    ASSERT_TRUE(fit.has_value()) << set.name << ": " << fit.error().detail;
    const auto certified = judge::published_numbers(toml_of(set), "certified_parameters");
    const auto certified_u =
        judge::published_numbers(toml_of(set), "certified_standard_deviations");
    const double certified_sd = judge::published_number(toml_of(set), "certified_residual_sd");
    const double parameters = worst_digits(fit->parameters, certified);
    const double deviations = worst_digits(standard_deviations(*fit), certified_u);
    const double sd = digits_in_common(residual_sd(*fit), certified_sd);
    const double scaled =
        set.degree > 0 ? digits_in_common(residual_sd(scaled_fit(set).fit), certified_sd) : sd;
    std::printf("%-9s %11.1f %11.1f %12.1f %18.1f\n", set.name.c_str(), parameters, deviations, sd,
                scaled);
    EXPECT_GE(parameters, set.parameters) << set.name;
    EXPECT_GE(sd, set.residual_sd) << set.name;
  }
}

TEST(NistStrd, ScalingToOneGivesFilipItsDigitsBack_LP1) {
  const StrdSet& filip = kSets[4];
  const double certified = judge::published_number(toml_of(filip), "certified_residual_sd");
  EXPECT_GE(digits_in_common(residual_sd(scaled_fit(filip).fit), certified), 13);
}

}  // namespace
}  // namespace endgate::analysis
