// How do speed and current run between and beyond the holds?
//
// As a ratio to the nominal unit: the type model carries the bend of the curve, the unit's own
// ratio to it is nearly straight, so straight lines between the holds suffice and nothing is
// smoothed.  Beyond the first and last hold the ratio stays what it was.  Holds closer than
// kSamePressure_pa count as one, with their mean.
//
// Pressures are gauge, at reference conditions.

#pragma once

#include <utility>
#include <vector>

#include "analysis/context.h"
#include "analysis/outcome.h"

namespace endgate::analysis {

// Speed and current of the nominal unit at reference conditions.
class TypeTable {
 public:
  [[nodiscard]] static Outcome<TypeTable> make(const ModelFacts& model);

  [[nodiscard]] double speed_rev_s(double gauge_pa) const { return at(speed_, gauge_pa); }
  [[nodiscard]] double current_a(double gauge_pa) const { return at(current_, gauge_pa); }

 private:
  [[nodiscard]] static double at(const std::vector<double>& values, double gauge_pa);

  std::vector<double> speed_;
  std::vector<double> current_;
};

inline constexpr double kSamePressure_pa = 5000;

// Straight lines through (gauge pressure, ratio); at least one node.
class RatioLine {
 public:
  explicit RatioLine(std::vector<std::pair<double, double>> nodes);

  [[nodiscard]] double at(double gauge_pa) const;

 private:
  std::vector<std::pair<double, double>> nodes_;  // by pressure, none closer than the above
};

}  // namespace endgate::analysis
