// Cell means under random batches and cells: best fit of a few regressors and its likelihood.
//
// MODEL   y_c = X_c b + batch_g + cell_c,  var(batch) = v_batch, var(cell) = v_cell + s^2 / n_c.
// Each batch's rows are decorrelated by taking off the share 1 - 1/sqrt(1 + v_batch W) of their
// weighted mean, then ordinary QR.  Variances: the best of a grid in factors of two.

#pragma once

#include <Eigen/Dense>
#include <optional>
#include <vector>

#include "analysis/statistics/cells.h"

namespace endgate::statistics {

struct LevelVariances {
  double batch = 0, cell = 0;
};

struct LevelFit {
  LevelVariances variances{};
  double log_likelihood = 0;  // maximum likelihood, for comparing regressors
  double restricted = 0;      // for the variances
  Eigen::VectorXd parameters{};
  double u_last = 0;  // standard uncertainty of the last parameter
  double phi = 0;     // correlation of neighbouring batches' residuals, at least 0
};

class MixedLevel {
 public:
  explicit MixedLevel(Cells cells);

  [[nodiscard]] LevelFit fit(const Eigen::MatrixXd& x, const LevelVariances& variances) const;
  // At the variances of the best restricted likelihood; its log_likelihood is the best one.
  [[nodiscard]] LevelFit best_fit(const Eigen::MatrixXd& x) const;
  // Rows made independent and of variance 1.
  [[nodiscard]] Eigen::MatrixXd decorrelated(const Eigen::MatrixXd& rows,
                                             const LevelVariances& variances) const;
  [[nodiscard]] const std::vector<Cell>& cells() const { return cells_.cells; }
  [[nodiscard]] const Eigen::VectorXd& y() const { return y_; }
  [[nodiscard]] std::size_t batches() const { return batch_starts_.size() - 1; }

 private:
  [[nodiscard]] double weight(std::size_t cell, const LevelVariances& variances) const;
  [[nodiscard]] double neighbours(const Eigen::VectorXd& residual) const;

  Cells cells_;
  Eigen::VectorXd y_;
  std::vector<std::size_t> batch_starts_;  // index of the first cell of each batch, and the end
  double unit_ = 0;                        // variance of a mean of ordinary size
};

}  // namespace endgate::statistics
