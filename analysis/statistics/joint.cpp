#include "analysis/statistics/joint.h"

#include "analysis/statistics/distribution.h"

namespace endgate::statistics {

Joint joint_of(const Eigen::MatrixXd& units) {
  Joint joint;
  joint.m = static_cast<double>(units.rows());
  joint.mean = units.colwise().mean();
  const Eigen::MatrixXd about = units.rowwise() - joint.mean.transpose();
  joint.covariance = about.transpose() * about / (joint.m - 1);
  return joint;
}

double t_squared(const Joint& joint, const Eigen::VectorXd& unit) {
  const Eigen::VectorXd d = unit - joint.mean;
  return d.dot(joint.covariance.ldlt().solve(d));
}

Eigen::VectorXd share_by_metric(const Joint& joint, const Eigen::VectorXd& unit) {
  const Eigen::Index p = unit.size();
  Eigen::VectorXd shares(p);
  const double all = t_squared(joint, unit);
  for (Eigen::Index left_out = 0; left_out < p; ++left_out) {
    Joint rest{
        .mean = Eigen::VectorXd(p - 1), .covariance = Eigen::MatrixXd(p - 1, p - 1), .m = joint.m};
    Eigen::VectorXd x(p - 1);
    const auto from = [left_out](Eigen::Index i) { return i < left_out ? i : i + 1; };
    for (Eigen::Index i = 0; i + 1 < p; ++i) {
      x(i) = unit(from(i));
      rest.mean(i) = joint.mean(from(i));
      for (Eigen::Index j = 0; j + 1 < p; ++j)
        rest.covariance(i, j) = joint.covariance(from(i), from(j));
    }
    shares(left_out) = all - t_squared(rest, x);
  }
  return shares;
}

double t_squared_limit(JointPhase phase, double m, double p, double false_alarm) {
  switch (phase) {
    case JointPhase::first:
      return (m - 1) * (m - 1) / m * beta_quantile(1 - false_alarm, p / 2, (m - p - 1) / 2);
    case JointPhase::later:
      return p * (m + 1) * (m - 1) / (m * m - m * p) * f_quantile(1 - false_alarm, p, m - p);
    case JointPhase::known:
      return chi_square_quantile(1 - false_alarm, p);
  }
  return 0;
}

}  // namespace endgate::statistics
