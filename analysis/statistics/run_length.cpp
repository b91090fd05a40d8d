#include "analysis/statistics/run_length.h"

#include <Eigen/Dense>
#include <algorithm>
#include <array>
#include <boost/math/quadrature/gauss.hpp>
#include <cmath>
#include <map>
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

// What the rules remember of the points so far: bits, the newest lowest, and the run on one side.
struct Memory {
  std::array<int, 4> bits{};  // beyond 2 up, down (2 points); beyond 1 up, down (4 points)
  int run = 0;                // + above, - below
  auto operator<=>(const Memory&) const = default;
};

// Zones -3 ... -1, 1 ... 3: within 1, 2, 3 sigma on either side.  Signals: nothing comes back.
bool advance(Memory& memory, int zone, const std::set<RunRule>& rules) {
  const auto ones = [](int bits) { return __builtin_popcount(static_cast<unsigned>(bits)); };
  const bool two = rules.contains(RunRule::two_of_three_beyond_2);
  const bool four = rules.contains(RunRule::four_of_five_beyond_1);
  const int far = std::abs(zone) == 3 ? 1 : 0, away = std::abs(zone) >= 2 ? 1 : 0;
  for (const int side : {0, 1}) {
    const bool here = (zone < 0) == (side == 1);
    auto& twos = memory.bits[static_cast<std::size_t>(side)];
    auto& fours = memory.bits[static_cast<std::size_t>(2 + side)];
    if (two && here && far == 1 && ones(twos) >= 1) return false;
    if (four && here && away == 1 && ones(fours) >= 3) return false;
    twos = two ? ((twos << 1) | (here ? far : 0)) & 3 : 0;
    fours = four ? ((fours << 1) | (here ? away : 0)) & 15 : 0;
  }
  if (rules.contains(RunRule::eight_on_one_side)) {
    const int sign = zone > 0 ? 1 : -1;
    memory.run = memory.run * sign > 0 ? memory.run + sign : sign;
    if (std::abs(memory.run) >= 8) return false;
  }
  return true;
}

double chance_of_zone(int zone, double shift) {
  const double low = zone > 0 ? zone - 1 : zone, high = low + 1;
  return normal_below(high - shift) - normal_below(low - shift);
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

double run_rules_run_length(const std::set<RunRule>& rules, double shift) {
  std::map<Memory, double> now{{Memory{}, 1.0}};
  constexpr int kMemory = 20;  // points that the longest rule looks back on, and some
  double length = 0, alive = 1, before = 2;
  // Once the share that survives a step is constant, the rest is a geometric series.
  for (int step = 0; step < 100000; ++step) {
    length += alive;
    std::map<Memory, double> next;
    for (const auto& [memory, chance] : now)
      for (const int zone : {-3, -2, -1, 1, 2, 3}) {
        Memory after = memory;
        if (advance(after, zone, rules)) next[after] += chance * chance_of_zone(zone, shift);
      }
    double left = 0;
    for (const auto& [memory, chance] : next) left += chance;
    const double share = left / alive;
    if (step > kMemory && std::abs(share - before) < 1e-10) return length + left / (1 - share);
    before = share;
    alive = left;
    now = std::move(next);
  }
  return length;
}

}  // namespace endgate::statistics
