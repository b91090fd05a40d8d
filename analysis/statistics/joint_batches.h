// Which batches are unusual in several metrics together, and which metric makes them so?
//
// Batch means are the points, so that what batches differ by anyway is in the scatter S they are
// held against; S and the mean come from all of these batches (first phase of joint.h).  A batch of
// fewer units than usual has more scatter: S + W (1/n - 1/n0), W the covariance inside batches, n0
// the harmonic mean of the sizes.
//
// T2 does not change when metrics are replaced by as many linear combinations of them: deliveries
// at three pressures say what the three coefficients of the curve q = N (a - b x) - L y say,
// because x and y are fixed at a pressure.
//
// Fewest batches: 20, and 5 for each metric; fewer leave a covariance of p (p + 1) / 2 numbers
// open.

#pragma once

#include <Eigen/Dense>
#include <string>
#include <vector>

namespace endgate::statistics {

inline constexpr double kJointFalseAlarm = 0.0027;  // of one batch: as limits of 3 sigma

struct JointBatch {
  double n = 0;
  double distance = 0;           // T2
  Eigen::VectorXd deviations{};  // of each metric, in its standard deviations of a mean
  Eigen::VectorXd shares{};      // T2 minus T2 without that metric
  // By how many standard deviations each metric lies above (+) what the others of the batch let
  // expect: the root of its share, with its sign.
  Eigen::VectorXd apart{};
};

struct JointBatches {
  std::vector<JointBatch> batches{};
  double limit = 0;
  enum class Refused { no, too_few, alike } refused = Refused::no;
  std::size_t needed = 0;  // batches
};

// A row of `units` per test, a column per metric; `batch` from 0, each with at least one row.
// alike: a metric does not scatter, or follows from the others.
[[nodiscard]] JointBatches joint_batches(const Eigen::MatrixXd& units,
                                         const std::vector<std::size_t>& batch);

}  // namespace endgate::statistics
