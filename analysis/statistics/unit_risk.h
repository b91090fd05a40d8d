// How often is a whole unit judged wrongly, when it must keep many limits at once?
//
// Each limit alone may be wrong in few units; eleven of them together hold back far more good ones.
// And errors that metrics share (one flow meter) do not add up.  So units are drawn and judged:
//
//   true values   t = mean + chol(S) z        healthy production of one model
//   measured      y = t + A w                 A has a column for each cause of uncertainty: what
//                                             metrics share moves them together, "random" and
//                                             "random/..." are drawn for each metric alone, and so
//                                             is what the parts leave unexplained of u
//   bad           t breaks a limit;  judged by the rule of analysis/grade.h with the guard bands
//
// All z, w independent standard normal; SI; every array in the order of the limits.  Drawn with a
// fixed seed: the same question has the same answer.  Standard deviation of a share p over n draws:
// sqrt(p (1 - p) / n).
//
// Holds for a production in control; a lot gone wrong is not in S.

#pragma once

#include <Eigen/Dense>
#include <cstdint>
#include <span>
#include <vector>

#include "analysis/context.h"
#include "analysis/evaluation.h"

namespace endgate::statistics {

struct HeldMetric {
  analysis::Limit limit{};   // a reject limit
  analysis::Metric error{};  // u and its parts, as they usually are; the value is not used
};

struct UnitRisk {
  std::int64_t drawn = 0;
  // Shares of all units drawn.
  double bad = 0, pass = 0, fail = 0, undecided = 0;
  double bad_passed = 0;                       // escapes
  double good_failed = 0;                      // false rejections
  double good_undecided = 0;                   // held back without an answer
  std::vector<double> good_held_back_alone{};  // failed or undecided, were this the only limit
};

// `mean` and `covariance` of the true values: a row and column per held metric.
[[nodiscard]] UnitRisk unit_risk(std::span<const HeldMetric> held, const Eigen::VectorXd& mean,
                                 const Eigen::MatrixXd& covariance, std::int64_t units);

// Covariance of the true values from that of measured ones: scatter that the errors explain is
// taken out of each metric, correlations are kept.  At least a tenth of each variance stays.
[[nodiscard]] Eigen::MatrixXd without_errors(const Eigen::MatrixXd& measured_covariance,
                                             const Eigen::VectorXd& u);

}  // namespace endgate::statistics
