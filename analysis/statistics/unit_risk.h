// How often is a whole unit judged wrongly, when it must keep many limits at once?
//
// Each limit alone may be wrong in few units; eleven of them together hold back far more good ones.
// And errors that metrics share (one flow meter) do not add up.  So units are drawn and judged:
//
//   measured      y = mean + chol(S) z + R v    what healthy production shows: `mean` as measured,
//                                               S its scatter without the random errors
//   true          t = mean + chol(S) z - A w    the mean itself is off by what the bench's lasting
//                                               errors may be
//   R             random errors of each metric: causes "random" and "random/..."
//   A             a column for each other cause: what metrics share moves them together; what the
//                 parts leave unexplained of u is a column of its own for each metric
//   bad           t breaks a limit;  judged by the rule of analysis/grade.h with the guard bands
//
// All z, v, w independent standard normal; SI; every array in the order of the limits.  Drawn with
// a fixed seed: the same question has the same answer.  Standard deviation of a share p over n
// draws: sqrt(p (1 - p) / n).
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

// `mean` as measured; `covariance` without random errors: a row and column per held metric.
[[nodiscard]] UnitRisk unit_risk(std::span<const HeldMetric> held, const Eigen::VectorXd& mean,
                                 const Eigen::MatrixXd& covariance, std::int64_t units);

// Of a metric's u, what is random.
[[nodiscard]] double random_u(const analysis::Metric& error);

// The covariance of measured values without their random errors: what those explain is taken out
// of each variance, correlations are kept.  At least a tenth of each variance stays.
[[nodiscard]] Eigen::MatrixXd without_random_errors(const Eigen::MatrixXd& measured_covariance,
                                                    const Eigen::VectorXd& random_u);

}  // namespace endgate::statistics
