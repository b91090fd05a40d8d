// One metric of one model over tests, as plain columns: what every trend is computed from.
//
// One row per test that has a value and is not void, in order of position.  Units: SI.

#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

namespace endgate::statistics {

// A name per row, kept once per level; levels in order of first appearance, -1: not known.
struct Factor {
  std::string name{};  // "reed lot", "calibration", "operator"
  std::vector<std::string> levels{};
  std::vector<int> of_row{};

  void add(const std::string& level) {
    if (level.empty()) return of_row.push_back(-1);
    for (std::size_t i = 0; i < levels.size(); ++i)
      if (levels[levels.size() - 1 - i] == level)
        return of_row.push_back(static_cast<int>(levels.size() - 1 - i));
    levels.push_back(level);
    of_row.push_back(static_cast<int>(levels.size()) - 1);
  }
};

struct TestColumns {
  std::vector<std::int64_t> position{}, time_utc_ms{};
  std::vector<double> value{}, u{};  // u 0: not known
  Factor batch{"batch"}, bench{"bench"};
  std::vector<Factor> causes{};  // lots, calibration, operator, limit set, software

  [[nodiscard]] std::size_t rows() const { return value.size(); }
};

}  // namespace endgate::statistics
