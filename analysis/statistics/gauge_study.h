// How much of what a study shows is the measurement and not the units?
//
// A crossed study: every unit on every bench (or by every operator), `repeats` times, clamped anew.
//
// MODEL   y = mean + unit + bench + unit x bench + repeat, all random.
//   Two-way analysis of variance.  The interaction is pooled into the repeats when its p is above
//   `pool_above`.  A negative estimate becomes 0 and says so: not distinguishable from 0.
// INTERVALS   95 %, by generalised inference: each mean square is replaced by itself times its
//   degrees of freedom over a chi-square draw, 10 000 times from a fixed seed; the parts computed
//   from these, none below 0, give the quantiles.  That of the repeats is the chi-square interval,
//   and a part's lower end is 0 exactly when its F test is not significant at 2.5 %.  Their
//   measured coverage is in tests/statistics/study_test.cpp.
//
// Warm-up changes a unit between repeats: randomise the order.  With two benches the bench part
// rests on one degree of freedom, `bench_known` is then false and its figure worth little.
// Sources: reference manual for measurement-systems analysis, 4th ed. (its example is a test);
// Tsui and Weerahandi 1989, Hamada and Weerahandi 2000 for the intervals (from memory).

#pragma once

#include <optional>
#include <span>
#include <vector>

#include "analysis/outcome.h"
#include "analysis/statistics/proportion.h"

namespace endgate::statistics {

struct StudyReading {
  int unit = 0, bench = 0;  // from 0
  double value = 0;
};

struct StudyPart {
  double sigma = 0;  // unit of the values
  Interval sigma_95{};
  double share = 0;  // of the total variance
  Interval share_95{};
};

struct GaugeStudy {
  int units = 0, benches = 0, repeats = 0;
  StudyPart repeat{}, bench{}, interaction{};
  StudyPart measurement{};  // these three together
  StudyPart unit{}, total{};
  double interaction_p = 1;
  bool pooled = false, negative = false, bench_known = true;
  double categories = 0;  // 1.41 unit / measurement: how many kinds of unit can be told apart
};
// Refuses an unbalanced study, fewer than two units, benches or repeats, and readings that are all
// alike.
[[nodiscard]] analysis::Outcome<GaugeStudy> gauge_study(const std::vector<StudyReading>& readings,
                                                        double pool_above = 0.25);

struct KnownValue {
  double value = 0, u = 0;  // u 0: taken as exact
};

// One kept unit measured many times on one bench against its known value, held against the width of
// the limits: 0.2 width / (6 s) and (0.1 width - |bias|) / (3 s).  Other conventions are in use.
//
// INTERVALS  95 %: s by chi-square; the bias by Student's t on u^2 = s^2/n + u_known^2 with the
// degrees of freedom of Welch and Satterthwaite.
struct TypeOneStudy {
  int n = 0;
  double bias = 0, sigma = 0;
  Interval bias_95{}, sigma_95{};
  std::optional<double> cg{}, cgk{};  // without a width: none
  [[nodiscard]] bool biased() const { return bias_95.low > 0 || bias_95.high < 0; }
};
// Refuses fewer than two values and values that are all alike: the display is then too coarse.
[[nodiscard]] analysis::Outcome<TypeOneStudy> type_one_study(std::span<const double> values,
                                                             const KnownValue& known,
                                                             std::optional<double> limit_width);

}  // namespace endgate::statistics
