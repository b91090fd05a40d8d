#include "analysis/statistics/unit_risk.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <random>
#include <string>

#include "analysis/uncertainty_cause.h"

namespace endgate::statistics {
namespace {

constexpr std::uint64_t kRiskSeed = 20261125;

// The columns A of lasting errors.
Eigen::MatrixXd lasting_errors(std::span<const HeldMetric> held) {
  std::map<std::string, Eigen::Index> column_of;
  for (const HeldMetric& each : held)
    for (const analysis::UncertaintyPart& part : each.error.parts)
      if (!analysis::is_random(part.cause))
        column_of.try_emplace(part.cause, static_cast<Eigen::Index>(column_of.size()));
  const auto rows = static_cast<Eigen::Index>(held.size());
  const auto shared = static_cast<Eigen::Index>(column_of.size());
  Eigen::MatrixXd columns = Eigen::MatrixXd::Zero(rows, shared + rows);
  for (Eigen::Index row = 0; row < rows; ++row) {
    const analysis::Metric& error = held[static_cast<std::size_t>(row)].error;
    for (const analysis::UncertaintyPart& part : error.parts)
      if (!analysis::is_random(part.cause)) columns(row, column_of[part.cause]) += part.u;
    const double unexplained = std::pow(error.u.value_or(0), 2) - std::pow(random_u(error), 2) -
                               columns.row(row).squaredNorm();
    columns(row, shared + row) = std::sqrt(std::max(unexplained, 0.0));
  }
  return columns;
}

Eigen::VectorXd random_errors(std::span<const HeldMetric> held) {
  Eigen::VectorXd errors(held.size());
  for (std::size_t i = 0; i < held.size(); ++i)
    errors(static_cast<Eigen::Index>(i)) = random_u(held[i].error);
  return errors;
}

Eigen::VectorXd standard_normals(std::mt19937_64& random, Eigen::Index count) {
  std::normal_distribution<double> normal;
  return Eigen::VectorXd::NullaryExpr(count, [&](Eigen::Index) { return normal(random); });
}

bool inside(const analysis::Limit& limit, double value, double band) {
  return (!limit.lower || value >= *limit.lower + band) &&
         (!limit.upper || value <= *limit.upper - band);
}

struct Bands {
  double pass = 0, fail = 0;  // G-3: a relaxed band that makes both overlap
};
Bands bands_of(const HeldMetric& each) {
  if (each.limit.guard == analysis::GuardRule::none) return {};
  const double u = each.error.u.value_or(0);
  const double pass = each.limit.pass_factor * u;
  return {pass, std::max(each.limit.fail_factor * u, -pass)};
}

// Tallies of one drawn unit after the other.
class Tally {
 public:
  explicit Tally(std::span<const HeldMetric> held) : held_(held) {
    for (const HeldMetric& each : held) bands_.push_back(bands_of(each));
    risk_.good_held_back_alone.resize(held.size());
  }

  void add(const Eigen::VectorXd& truth, const Eigen::VectorXd& measured) {
    bool good = true, fail = false, pass = true;
    for (std::size_t i = 0; i < held_.size(); ++i) {
      const auto row = static_cast<Eigen::Index>(i);
      const bool keeps = inside(held_[i].limit, truth(row), 0);
      const bool passes = inside(held_[i].limit, measured(row), bands_[i].pass);
      good = good && keeps;
      fail = fail || !inside(held_[i].limit, measured(row), -bands_[i].fail);
      pass = pass && passes;
      if (keeps && !passes) ++risk_.good_held_back_alone[i];
    }
    count(good, fail, pass && !fail);
  }

  [[nodiscard]] UnitRisk shares() const {
    UnitRisk shares = risk_;
    const auto n = static_cast<double>(risk_.drawn);
    for (double* share : {&shares.bad, &shares.pass, &shares.fail, &shares.undecided,
                          &shares.bad_passed, &shares.good_failed, &shares.good_undecided})
      *share /= n;
    for (double& share : shares.good_held_back_alone) share /= n;
    return shares;
  }

 private:
  void count(bool good, bool fail, bool pass) {
    const bool undecided = !fail && !pass;
    ++risk_.drawn;
    risk_.bad += good ? 0 : 1;
    risk_.pass += pass ? 1 : 0;
    risk_.fail += fail ? 1 : 0;
    risk_.undecided += undecided ? 1 : 0;
    risk_.bad_passed += !good && pass ? 1 : 0;
    risk_.good_failed += good && fail ? 1 : 0;
    risk_.good_undecided += good && undecided ? 1 : 0;
  }

  std::span<const HeldMetric> held_;
  std::vector<Bands> bands_;
  UnitRisk risk_;
};

}  // namespace

UnitRisk unit_risk(std::span<const HeldMetric> held, const Eigen::VectorXd& mean,
                   const Eigen::MatrixXd& covariance, std::int64_t units) {
  const Eigen::MatrixXd lasting = lasting_errors(held);
  const Eigen::VectorXd own = random_errors(held);
  // LDLT takes what is singular too: metrics that follow from each other.
  const Eigen::LDLT<Eigen::MatrixXd> factored(covariance);
  const Eigen::VectorXd diagonal = factored.vectorD().cwiseMax(0).cwiseSqrt();
  const Eigen::MatrixXd lower = factored.matrixL();
  const Eigen::MatrixXd scatter =
      factored.transpositionsP().transpose() * Eigen::MatrixXd(lower * diagonal.asDiagonal());
  std::mt19937_64 random(kRiskSeed);
  Tally tally(held);
  for (std::int64_t i = 0; i < units; ++i) {
    const Eigen::VectorXd unit = mean + scatter * standard_normals(random, scatter.cols());
    const Eigen::VectorXd truth = unit - lasting * standard_normals(random, lasting.cols());
    const Eigen::VectorXd measured = unit + own.cwiseProduct(standard_normals(random, own.size()));
    tally.add(truth, measured);
  }
  return tally.shares();
}

double random_u(const analysis::Metric& error) {
  double variance = 0;
  for (const analysis::UncertaintyPart& part : error.parts)
    if (analysis::is_random(part.cause)) variance += part.u * part.u;
  return std::sqrt(variance);
}

Eigen::MatrixXd without_random_errors(const Eigen::MatrixXd& measured_covariance,
                                      const Eigen::VectorXd& random_u) {
  constexpr double kLeast = 0.1;
  const Eigen::ArrayXd variance = measured_covariance.diagonal().array();
  const Eigen::ArrayXd kept = (variance - random_u.array().square()).max(kLeast * variance);
  const Eigen::VectorXd scale =
      (variance > 0).select((kept / variance.max(1e-300)).sqrt(), 0).matrix();
  return scale.asDiagonal() * measured_covariance * scale.asDiagonal();
}

}  // namespace endgate::statistics
