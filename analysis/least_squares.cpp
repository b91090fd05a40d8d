#include "analysis/least_squares.h"

#include <Eigen/QR>
#include <cassert>
#include <cmath>

#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

// A pivot below this share of the largest one says that two columns tell the same: with columns of
// length near 1 the parameters would be off by more than the eighth digit.
constexpr double kRankThreshold = 1e-13;

std::optional<Refusal> row_refusal(const LinearSystem& system, std::size_t row) {
  bool finite = std::isfinite(system.observation(row).value);
  for (std::size_t j = 0; j < system.parameters(); ++j)
    finite = finite && std::isfinite(system.regressor(row, j));
  if (!finite) return Refusal{RefusalKind::non_finite_input, "a value is not finite", row};
  const double u = system.observation(row).u;
  if (std::isnan(u)) return Refusal{RefusalKind::non_finite_input, "an uncertainty is NaN", row};
  if (!(u > 0) || !std::isfinite(u))
    return Refusal{RefusalKind::value_out_of_domain, "an uncertainty is not positive", row};
  return std::nullopt;
}

std::optional<Refusal> system_refusal(const LinearSystem& system) {
  if (system.parameters() == 0 || system.rows() < system.parameters())
    return Refusal{RefusalKind::too_few_points, "fewer observations than parameters", std::nullopt};
  for (std::size_t row = 0; row < system.rows(); ++row)
    if (std::optional<Refusal> refusal = row_refusal(system, row)) return refusal;
  return std::nullopt;
}

struct Weighted {
  Eigen::MatrixXd design;
  Eigen::VectorXd observed;
  Eigen::VectorXd column_scale;
};

double column_length(const Eigen::MatrixXd& design, Eigen::Index column) {
  return std::sqrt(sum_over(static_cast<std::size_t>(design.rows()), [&](std::size_t i) {
    const double x = design(static_cast<Eigen::Index>(i), column);
    return x * x;
  }));
}

// A power of two, so that scaling rounds nothing.  A column of zeros stays; the rank check sees it.
void scale_columns(Weighted& weighted) {
  for (Eigen::Index j = 0; j < weighted.design.cols(); ++j) {
    const double length = column_length(weighted.design, j);
    const double scale = length > 0 && std::isfinite(length) ? std::exp2(-std::ilogb(length)) : 1;
    weighted.column_scale(j) = scale;
    weighted.design.col(j) *= scale;
  }
}

Weighted weighted_matrix(const LinearSystem& system) {
  const auto m = static_cast<Eigen::Index>(system.rows());
  const auto p = static_cast<Eigen::Index>(system.parameters());
  Weighted weighted{Eigen::MatrixXd(m, p), Eigen::VectorXd(m), Eigen::VectorXd(p)};
  for (Eigen::Index i = 0; i < m; ++i) {
    const Observation& observation = system.observation(static_cast<std::size_t>(i));
    for (Eigen::Index j = 0; j < p; ++j)
      weighted.design(i, j) =
          system.regressor(static_cast<std::size_t>(i), static_cast<std::size_t>(j)) /
          observation.u;
    weighted.observed(i) = observation.value / observation.u;
  }
  scale_columns(weighted);
  return weighted;
}

double residual_of(const LinearSystem& system, const std::vector<double>& parameters,
                   std::size_t row) {
  Sum residual;
  residual.add(system.observation(row).value);
  for (std::size_t j = 0; j < parameters.size(); ++j)
    residual.add(-system.regressor(row, j) * parameters[j]);
  return residual.value() / system.observation(row).u;
}

using Decomposition = Eigen::ColPivHouseholderQR<Eigen::MatrixXd>;

// inverse(A'A) = P inverse(R) inverse(R)' P', scaled back.
Eigen::MatrixXd covariance_from(const Decomposition& qr, const Eigen::VectorXd& scale) {
  const Eigen::Index p = scale.size();
  const Eigen::MatrixXd r = qr.matrixR().topLeftCorner(p, p);
  const Eigen::MatrixXd inverse =
      r.triangularView<Eigen::Upper>().solve(Eigen::MatrixXd::Identity(p, p));
  const Eigen::MatrixXd root = scale.asDiagonal() * (qr.colsPermutation() * inverse);
  return root * root.transpose();
}

}  // namespace

void LinearSystem::add(std::span<const double> regressors, const Observation& observation) {
  assert(regressors.size() == parameters_);
  regressors_.insert(regressors_.end(), regressors.begin(), regressors.end());
  observations_.push_back(observation);
}

double LinearFit::u_of(std::size_t parameter) const {
  return std::sqrt(covariance_of(parameter, parameter));
}

Outcome<LinearFit> solve_least_squares(const LinearSystem& system) {
  if (const std::optional<Refusal> refusal = system_refusal(system)) return *refusal;
  const Weighted weighted = weighted_matrix(system);
  Decomposition qr(weighted.design.rows(), weighted.design.cols());
  qr.setThreshold(kRankThreshold);
  qr.compute(weighted.design);
  if (qr.rank() < weighted.design.cols())
    return Refusal{RefusalKind::singular, "the observations do not tell the parameters apart",
                   std::nullopt};
  const Eigen::VectorXd solution =
      qr.solve(weighted.observed).cwiseProduct(weighted.column_scale).eval();
  const Eigen::MatrixXd covariance = covariance_from(qr, weighted.column_scale);
  LinearFit fit;
  fit.parameters.assign(solution.data(), solution.data() + solution.size());
  fit.covariance.assign(covariance.data(), covariance.data() + covariance.size());  // symmetric
  fit.chi_square = sum_over(system.rows(), [&](std::size_t row) {
    const double residual = residual_of(system, fit.parameters, row);
    return residual * residual;
  });
  fit.degrees_of_freedom = static_cast<int>(system.rows() - system.parameters());
  return fit;
}

}  // namespace endgate::analysis
