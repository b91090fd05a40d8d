#include "analysis/statistics/run_length.h"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/quadrature/gauss.hpp>
#include <cmath>
#include <vector>

#include "analysis/statistics/distribution.h"

namespace endgate::statistics {
namespace {

struct Nodes {
  std::vector<double> at, weight;
};

void add_panel(Nodes& nodes, double low, double high) {
  using Rule = boost::math::quadrature::gauss<double, 30>;
  const double half = (high - low) / 2, middle = (high + low) / 2;
  for (std::size_t i = 0; i < Rule::abscissa().size(); ++i)
    for (const double sign : {-1.0, 1.0}) {
      nodes.at.push_back(middle + sign * half * Rule::abscissa()[i]);
      nodes.weight.push_back(half * Rule::weights()[i]);
    }
}

Nodes nodes_over(double low, double high) {
  constexpr int kPanels = 4;
  Nodes nodes;
  for (int i = 0; i < kPanels; ++i)
    add_panel(nodes, low + (high - low) * i / kPanels, low + (high - low) * (i + 1) / kPanels);
  return nodes;
}

double one_sided_sum(double k, double h, double shift) {
  const Nodes nodes = nodes_over(0, h);
  const auto n = static_cast<Eigen::Index>(nodes.at.size());
  Eigen::MatrixXd a = Eigen::MatrixXd::Identity(n + 1, n + 1);  // the last row is the atom at 0
  for (Eigen::Index row = 0; row <= n; ++row) {
    const double from = row == n ? 0 : nodes.at[static_cast<std::size_t>(row)];
    for (Eigen::Index column = 0; column < n; ++column) {
      const auto j = static_cast<std::size_t>(column);
      a(row, column) -= nodes.weight[j] * normal_density(nodes.at[j] + k - from - shift);
    }
    a(row, n) -= normal_below(k - from - shift);
  }
  const Eigen::VectorXd length = a.partialPivLu().solve(Eigen::VectorXd::Ones(n + 1));
  return length(n);
}

}  // namespace

double running_mean_run_length(double lambda, double width_in_sigma, double shift) {
  const double h = width_in_sigma * std::sqrt(lambda / (2 - lambda));
  const Nodes nodes = nodes_over(-h, h);
  const auto n = static_cast<Eigen::Index>(nodes.at.size());
  const auto kernel = [&](double from, std::size_t j) {
    const double z = (nodes.at[j] - (1 - lambda) * from) / lambda - shift;
    return nodes.weight[j] * normal_density(z) / lambda;
  };
  Eigen::MatrixXd a = Eigen::MatrixXd::Identity(n, n);
  for (Eigen::Index i = 0; i < n; ++i)
    for (Eigen::Index j = 0; j < n; ++j)
      a(i, j) -= kernel(nodes.at[static_cast<std::size_t>(i)], static_cast<std::size_t>(j));
  const Eigen::VectorXd length = a.partialPivLu().solve(Eigen::VectorXd::Ones(n));
  double from_zero = 1;
  for (Eigen::Index j = 0; j < n; ++j)
    from_zero += kernel(0, static_cast<std::size_t>(j)) * length(j);
  return from_zero;
}

double running_sum_run_length(double k, double h, double shift) {
  return 1 / (1 / one_sided_sum(k, h, shift) + 1 / one_sided_sum(k, h, -shift));
}

}  // namespace endgate::statistics
