// What may have moved a metric: each recorded level, each bench and the product since each batch.
//
// A hypothesis is a recipe; its regressor is computed when it is looked at, because all of them
// together would be (batches x benches) columns over all cells.

#pragma once

#include <Eigen/Dense>
#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/cells.h"
#include "analysis/statistics/trend_cause.h"

namespace endgate::statistics {

inline constexpr std::size_t kEdgeOfCause = 3;          // batches before and after a change
inline constexpr std::size_t kMostLevelsOfCause = 120;  // of a factor: those of the most tests

struct TrendHypothesis {
  TrendCause cause{};
  std::string family{};
  std::size_t factor = 0;  // index in TestColumns::causes; only with a level
  int level = -1;          // -1: `cause.since_batch` says what it is
  int bench = -1;          // of a time; -1: the product
  double t = 0, log_likelihood = 0;

  // One value per cell.
  [[nodiscard]] Eigen::VectorXd x(const std::vector<Cell>& cells, std::size_t batches) const;
};

// Drifts of these benches only; nothing: of every one.
[[nodiscard]] std::vector<TrendHypothesis> trend_hypotheses(
    const TestColumns& columns, const std::optional<std::vector<std::string>>& benches = {});

}  // namespace endgate::statistics
