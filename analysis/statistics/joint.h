// Are several metrics together unusual, though each alone is not?
//
// T2 = (x - mean)' S^-1 (x - mean), mean and S from `m` earlier units (or from the units
// themselves).  Limits for single units: known parameters chi-square; the units that gave S (first
// phase) (m-1)^2/m Beta(p/2, (m-p-1)/2); later units p(m+1)(m-1)/(m^2 - m p) F(p, m-p).  Mixing the
// phases up is an error of a factor 1.7 at m = 30, p = 3.
// Each unit's share by metric: T2 minus T2 without that metric.

#pragma once

#include <Eigen/Dense>

namespace endgate::statistics {

struct Joint {
  Eigen::VectorXd mean{};
  Eigen::MatrixXd covariance{};
  double m = 0;  // units behind it
};
[[nodiscard]] Joint joint_of(const Eigen::MatrixXd& units);  // a row per unit, more than columns
[[nodiscard]] double t_squared(const Joint& joint, const Eigen::VectorXd& unit);
[[nodiscard]] Eigen::VectorXd share_by_metric(const Joint& joint, const Eigen::VectorXd& unit);

enum class JointPhase { first, later, known };
[[nodiscard]] double t_squared_limit(JointPhase phase, double m, double p, double false_alarm);

}  // namespace endgate::statistics
