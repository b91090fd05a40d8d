#include "analysis/statistics/joint_batches.h"

#include <algorithm>
#include <cmath>

#include "analysis/statistics/joint.h"

namespace endgate::statistics {
namespace {

using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr std::size_t kFewestBatches = 20, kFewestPerMetric = 5;
constexpr double kAlike = 1e-8;  // smallest eigenvalue of a correlation that still says something

struct Grouped {
  MatrixXd means;  // a row per batch
  VectorXd n;
  MatrixXd inside;  // covariance inside batches
};

Grouped grouped(const MatrixXd& units, const std::vector<std::size_t>& batch) {
  const std::size_t count = batch.empty() ? 0 : *std::ranges::max_element(batch) + 1;
  const Eigen::Index m = static_cast<Eigen::Index>(count), p = units.cols();
  Grouped out{MatrixXd::Zero(m, p), VectorXd::Zero(m), MatrixXd::Zero(p, p)};
  for (Eigen::Index row = 0; row < units.rows(); ++row) {
    const Eigen::Index at = static_cast<Eigen::Index>(batch[static_cast<std::size_t>(row)]);
    out.n(at) += 1;
    // Running means: exact for what lies close together far from 0.
    out.means.row(at) += (units.row(row) - out.means.row(at)) / out.n(at);
  }
  for (Eigen::Index row = 0; row < units.rows(); ++row) {
    const Eigen::Index at = static_cast<Eigen::Index>(batch[static_cast<std::size_t>(row)]);
    const VectorXd about = (units.row(row) - out.means.row(at)).transpose();
    out.inside += about * about.transpose();
  }
  const double freedom = static_cast<double>(units.rows() - m);
  if (freedom > 0) out.inside /= freedom;
  return out;
}

// Each metric in its own standard deviation, so that Pa and m3/s weigh the same.
VectorXd sigmas(const MatrixXd& covariance) { return covariance.diagonal().cwiseSqrt(); }

bool alike(const MatrixXd& covariance) {
  const VectorXd sigma = sigmas(covariance);
  if (!(sigma.minCoeff() > 0)) return true;
  const MatrixXd correlation =
      sigma.cwiseInverse().asDiagonal() * covariance * sigma.cwiseInverse().asDiagonal();
  const Eigen::SelfAdjointEigenSolver<MatrixXd> solver(correlation, Eigen::EigenvaluesOnly);
  return solver.eigenvalues()(0) < kAlike;
}

// With metrics in units of `sigma`.
Joint scaled(const Joint& joint, const VectorXd& sigma) {
  return {.mean = joint.mean.cwiseQuotient(sigma),
          .covariance = sigma.cwiseInverse().asDiagonal() * joint.covariance *
                        sigma.cwiseInverse().asDiagonal(),
          .m = joint.m};
}

JointBatch judged(const Joint& of_means, const Grouped& from, Eigen::Index at, double usual_n) {
  Joint joint = of_means;
  if (from.n(at) < usual_n) joint.covariance += from.inside * (1 / from.n(at) - 1 / usual_n);
  const VectorXd sigma = sigmas(joint.covariance);
  const Joint in_sigma = scaled(joint, sigma);
  const VectorXd mean = from.means.row(at).transpose().cwiseQuotient(sigma);
  const VectorXd deviations = mean - in_sigma.mean;
  const VectorXd weighed = in_sigma.covariance.ldlt().solve(deviations);
  const VectorXd shares = share_by_metric(in_sigma, mean);
  VectorXd apart = shares.cwiseMax(0).cwiseSqrt();
  for (Eigen::Index i = 0; i < apart.size(); ++i)
    if (weighed(i) < 0) apart(i) = -apart(i);
  return {.n = from.n(at),
          .distance = t_squared(in_sigma, mean),
          .deviations = deviations,
          .shares = shares,
          .apart = apart};
}

}  // namespace

JointBatches joint_batches(const MatrixXd& units, const std::vector<std::size_t>& batch) {
  JointBatches out{.needed = std::max(kFewestBatches,
                                      kFewestPerMetric * static_cast<std::size_t>(units.cols()))};
  const Grouped from = grouped(units, batch);
  if (static_cast<std::size_t>(from.n.size()) < out.needed) {
    out.refused = JointBatches::Refused::too_few;
    return out;
  }
  const Joint of_means = joint_of(from.means);
  if (alike(of_means.covariance)) {
    out.refused = JointBatches::Refused::alike;
    return out;
  }
  const double usual_n = of_means.m / from.n.cwiseInverse().sum();
  for (Eigen::Index at = 0; at < from.n.size(); ++at)
    out.batches.push_back(judged(of_means, from, at, usual_n));
  out.limit = t_squared_limit(JointPhase::first, of_means.m, static_cast<double>(units.cols()),
                              kJointFalseAlarm);
  return out;
}

}  // namespace endgate::statistics
