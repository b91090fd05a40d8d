#include "analysis/type_table.h"

#include <algorithm>
#include <cmath>

#include "analysis/type_model.h"

namespace endgate::analysis {
namespace {

constexpr double kNode_pa = 12500;
constexpr int kNodes = 97;  // to 1.2 MPa gauge

using Node = std::pair<double, double>;

double line(const Node& left, const Node& right, double x) {
  return left.second + (right.second - left.second) * (x - left.first) / (right.first - left.first);
}

}  // namespace

Outcome<TypeTable> TypeTable::make(const ModelFacts& model) {
  TypeTable table;
  for (int i = 0; i < kNodes; ++i) {
    const Outcome<TypeState> state = solve_type_model(
        model.nominal,
        {model.reference.supply_voltage_v, i * kNode_pa, model.reference.inlet_pressure_abs_pa});
    // A nominal unit that stalls early still has a shape as far as it runs.
    if (!state && i < 2) return state.error();
    if (!state) break;
    table.speed_.push_back(state->speed_rev_s);
    table.current_.push_back(std::max(state->supply_current_a, 1e-6));
  }
  return table;
}

double TypeTable::at(const std::vector<double>& values, double gauge_pa) {
  const double last = static_cast<double>(values.size() - 1);
  const double place = std::clamp(gauge_pa / kNode_pa, 0.0, last);
  const auto i = static_cast<std::size_t>(std::min(place, last - 1));
  return values[i] + (place - static_cast<double>(i)) * (values[i + 1] - values[i]);
}

RatioLine::RatioLine(std::vector<std::pair<double, double>> nodes) {
  std::sort(nodes.begin(), nodes.end());
  std::size_t merged = 0;  // nodes behind the last one
  for (const Node& node : nodes) {
    if (nodes_.empty() || node.first - nodes_.back().first > kSamePressure_pa) {
      nodes_.push_back(node);
      merged = 1;
      continue;
    }
    const double share = 1.0 / static_cast<double>(++merged);
    nodes_.back().first += share * (node.first - nodes_.back().first);
    nodes_.back().second += share * (node.second - nodes_.back().second);
  }
}

double RatioLine::at(double gauge_pa) const {
  if (nodes_.empty()) return 1;
  if (gauge_pa <= nodes_.front().first) return nodes_.front().second;
  for (std::size_t i = 1; i < nodes_.size(); ++i)
    if (gauge_pa <= nodes_[i].first) return line(nodes_[i - 1], nodes_[i], gauge_pa);
  return nodes_.back().second;
}

}  // namespace endgate::analysis
