#include "analysis/statistics/mixed_level.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace endgate::statistics {
namespace {

constexpr int kLeastPower = -2, kMostPower = 7;  // of two, times `unit_`

// Powers of four, then of two around the best.
std::vector<double> coarse(double unit) {
  std::vector<double> grid{0};
  for (int power = kLeastPower; power <= kMostPower; power += 2)
    grid.push_back(unit * std::exp2(power));
  return grid;
}

std::vector<double> fine(double unit, double about) {
  if (about > 0) return {about / 2, about, about * 2};
  return {0, unit * std::exp2(kLeastPower - 1)};
}

}  // namespace

MixedLevel::MixedLevel(Cells cells) : cells_(std::move(cells)) {
  const auto count = static_cast<Eigen::Index>(cells_.cells.size());
  y_.resize(count);
  double n = 0;
  for (Eigen::Index i = 0; i < count; ++i) {
    const Cell& cell = cells_.cells[static_cast<std::size_t>(i)];
    y_(i) = cell.mean;
    n += cell.n;
    if (i == 0 || cell.batch != cells_.cells[static_cast<std::size_t>(i) - 1].batch)
      batch_starts_.push_back(static_cast<std::size_t>(i));
  }
  batch_starts_.push_back(cells_.cells.size());
  const double mean_n = std::max(1.0, n / static_cast<double>(std::max<Eigen::Index>(1, count)));
  unit_ = cells_.sigma_inside * cells_.sigma_inside / mean_n;
}

double MixedLevel::weight(std::size_t cell, const LevelVariances& variances) const {
  const double sigma = cells_.sigma_inside;
  return 1 / (variances.cell + sigma * sigma / cells_.cells[cell].n);
}

Eigen::MatrixXd MixedLevel::decorrelated(const Eigen::MatrixXd& rows,
                                         const LevelVariances& variances) const {
  Eigen::MatrixXd out = rows;
  for (std::size_t g = 0; g + 1 < batch_starts_.size(); ++g) {
    double all = 0;
    Eigen::RowVectorXd mean = Eigen::RowVectorXd::Zero(rows.cols());
    for (std::size_t c = batch_starts_[g]; c < batch_starts_[g + 1]; ++c) {
      all += weight(c, variances);
      mean += weight(c, variances) * rows.row(static_cast<Eigen::Index>(c));
    }
    mean *= (1 - 1 / std::sqrt(1 + variances.batch * all)) / all;
    for (std::size_t c = batch_starts_[g]; c < batch_starts_[g + 1]; ++c) {
      const auto row = static_cast<Eigen::Index>(c);
      out.row(row) = std::sqrt(weight(c, variances)) * (rows.row(row) - mean);
    }
  }
  return out;
}

double MixedLevel::neighbours(const Eigen::VectorXd& residual) const {
  Eigen::VectorXd means(static_cast<Eigen::Index>(batches()));
  for (std::size_t g = 0; g < batches(); ++g) {
    double sum = 0, n = 0;
    for (std::size_t c = batch_starts_[g]; c < batch_starts_[g + 1]; ++c) {
      sum += cells_.cells[c].n * residual(static_cast<Eigen::Index>(c));
      n += cells_.cells[c].n;
    }
    means(static_cast<Eigen::Index>(g)) = sum / n;
  }
  const Eigen::Index n = means.size();
  const double all = means.squaredNorm();
  if (n < 5 || !(all > 0)) return 0;
  return std::clamp(means.head(n - 1).dot(means.tail(n - 1)) / all, 0.0, 0.8);
}

LevelFit MixedLevel::fit(const Eigen::MatrixXd& x, const LevelVariances& variances) const {
  const Eigen::MatrixXd xd = decorrelated(x, variances);
  const Eigen::VectorXd yd = decorrelated(y_, variances);
  const Eigen::HouseholderQR<Eigen::MatrixXd> qr(xd);
  LevelFit fit;
  fit.variances = variances;
  fit.parameters = qr.solve(yd);
  const double squares = (yd - xd * fit.parameters).squaredNorm();
  const Eigen::Index p = x.cols();
  const Eigen::VectorXd r = qr.matrixQR().diagonal().head(p);
  double logs = 0;
  for (std::size_t g = 0; g + 1 < batch_starts_.size(); ++g) {
    double all = 0;
    for (std::size_t c = batch_starts_[g]; c < batch_starts_[g + 1]; ++c) {
      all += weight(c, variances);
      logs -= std::log(weight(c, variances));
    }
    logs += std::log(1 + variances.batch * all);
  }
  fit.log_likelihood = -0.5 * (logs + squares);
  fit.restricted = fit.log_likelihood - r.array().abs().log().sum();
  fit.u_last = 1 / std::abs(r(p - 1));
  fit.phi = neighbours(y_ - x * fit.parameters);
  return fit;
}

LevelFit MixedLevel::best_fit(const Eigen::MatrixXd& x) const {
  LevelFit best;
  best.restricted = -std::numeric_limits<double>::infinity();
  double likelihood = best.restricted;
  const auto try_all = [&](const std::vector<double>& batches, const std::vector<double>& cells) {
    for (const double batch : batches)
      for (const double cell : cells) {
        LevelFit here = fit(x, {batch, cell});
        likelihood = std::max(likelihood, here.log_likelihood);
        if (here.restricted > best.restricted) best = std::move(here);
      }
  };
  try_all(coarse(unit_), coarse(unit_));
  const LevelVariances about = best.variances;
  try_all(fine(unit_, about.batch), fine(unit_, about.cell));
  best.log_likelihood = likelihood;
  return best;
}

}  // namespace endgate::statistics
