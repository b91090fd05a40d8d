// How does a value move as a unit runs, and when does it reach a limit?
//
// MODEL   value = start + slope g(t) + scatter, g(t) = t; when the points bend against a straight
//         line (p of a square term below 5 %), sqrt(t) (runs in) or t^2 (wears ever faster),
//         whichever leaves less scatter and is not bent against itself
// TIME    where the line reaches the limit, with the 95 % set of all times the points allow
//         (Fieller's): (limit - start - slope g)^2 <= t_975^2 s^2 (1/n + (g - mean g)^2 / Sxx).
//         While the slope cannot be told from 0 this has no upper end, or none at all
//
// The line is that of the unit; a single test scatters about it besides.  Beyond the last point it
// is an extrapolation: the form is believed, not seen.
//
// Refuses fewer than five different times, values that do not scatter at all, and points no form
// describes.  Source: Draper and Smith, Applied Regression Analysis, inverse regression; Fieller
// 1954 (from memory).

#pragma once

#include <optional>
#include <span>

#include "analysis/outcome.h"
#include "analysis/statistics/proportion.h"

namespace endgate::statistics {

struct MeasuredAt {
  double time = 0;  // >= 0
  double value = 0;
};

enum class PathForm { straight, root, square };

struct Degradation {
  PathForm form = PathForm::straight;
  int n = 0;
  double start = 0, slope = 0, slope_u = 0;  // over g(t)
  double slope_p = 1;                        // that there is no change
  double scatter = 0;                        // of a single test about the line
  double last_time = 0;
  double mean_g = 0, spread_g = 0;  // of the points: mean, and the sum of squares about it

  [[nodiscard]] double value_at(double time) const;
  [[nodiscard]] Interval line_at(double time) const;  // 95 %
  [[nodiscard]] bool moves() const { return slope_p < 0.05; }
};
[[nodiscard]] analysis::Outcome<Degradation> degradation_of(std::span<const MeasuredAt> points);

struct TimeToLimit {
  std::optional<double> time{};       // of the line; absent: it moves away from the limit
  double not_before = 0;              // lower end; 0: nothing can be said
  std::optional<double> not_after{};  // upper end; absent: none
};
[[nodiscard]] TimeToLimit time_to_limit(const Degradation& path, double limit);

}  // namespace endgate::statistics
