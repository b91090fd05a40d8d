// How much of what a study shows is the measurement and not the units?
//
// A crossed study: every unit on every bench (or by every operator), `repeats` times, clamped anew.
//
// MODEL   y = mean + unit + bench + unit x bench + repeat, all random.
//   Two-way analysis of variance.  The interaction is pooled into the repeats when its p is above
//   `pool_above`.  A negative estimate becomes 0 and says so: not distinguishable from 0.
//
// Warm-up changes a unit between repeats: randomise the order.  With two benches the bench part
// rests on one degree of freedom, `bench_known` is then false and its figure worth little.
// Source: reference manual for measurement-systems analysis, 4th ed. (its example is a test).

#pragma once

#include <optional>
#include <vector>

#include "analysis/outcome.h"

namespace endgate::statistics {

struct StudyReading {
  int unit = 0, bench = 0;  // from 0
  double value = 0;
};

struct GaugeStudy {
  double repeat = 0, bench = 0, interaction = 0, measurement = 0, unit = 0, total = 0;  // sigma
  double interaction_p = 1;
  bool pooled = false, negative = false, bench_known = true;
  double categories = 0;  // 1.41 unit / measurement: how many kinds of unit can be told apart
};
// Refuses an unbalanced study, fewer than two units, benches or repeats.
[[nodiscard]] analysis::Outcome<GaugeStudy> gauge_study(const std::vector<StudyReading>& readings,
                                                        double pool_above = 0.25);

// One kept unit measured many times against its known value, held against the width of the
// limits: 0.2 width / (6 s) and (0.1 width - |bias|) / (3 s).  Other conventions are in use.
struct TypeOneStudy {
  double bias = 0, sigma = 0, cg = 0, cgk = 0;
};
[[nodiscard]] TypeOneStudy type_one_study(const std::vector<double>& values, double known,
                                          double limit_width);

}  // namespace endgate::statistics
