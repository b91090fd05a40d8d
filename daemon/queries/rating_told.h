// What may a data sheet promise of a model's delivery over pressure?
//
// At each pressure that models measure, over the first tests of all units, those that failed too:
//
//   mean      and scatter over all batches
//   lower     a share of all units delivers at least this, with a confidence: the guaranteed value.
//             Normal form (statistics/tolerance.h) with the number of independent units that
//             batches leave; skew values take an order statistic instead, and none when there are
//             too few units for it
//   whole     the same for the whole curve: the share lies above it at every pressure at once.
//             Share and confidence are split evenly over the pressures (Bonferroni), which holds
//             whatever the correlation along the curve and is lower than need be
//
//   promise   whole, less twice what all tests may err by together (calibration, constants,
//             corrections: every part of u but the random ones; median of the newest tests).  It is
//             what a sheet may say; none where that part is not known
//
// The repeats of the measurement are inside the scatter; an error that all tests share is not in
// lower and whole.  Values at reference conditions, SI.  Units far from all others are left out,
// named.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/tolerance.h"
#include "daemon/queries/capability_told.h"

namespace endgate::daemon {

struct RatingPoint {
  double pressure_gauge_pa = 0;
  CapabilityTold told{};
  std::optional<double> lower_m3_s{}, whole_m3_s{};
  bool by_order = false;             // not by the normal form
  std::optional<double> test_u{};    // of a single test, the median
  std::optional<double> shared_u{};  // of it, what all tests share
  [[nodiscard]] std::optional<double> promise_m3_s() const;
  // The promise lies below the lower limit in force.
  [[nodiscard]] bool below_limit() const;
};

struct RatingTold {
  std::string model{};
  statistics::Coverage coverage{};
  std::vector<RatingPoint> points{};  // pressure rising; only where ten units differ
  // Somewhere less than the lower limit in force: the first of the notes says so.
  [[nodiscard]] bool promises_less() const;
};
[[nodiscard]] RatingTold rating_of(const schema::StoreReader& store, const TrendFilter& filter,
                                   const statistics::Coverage& coverage);

// In words of our own, one statement a line.
[[nodiscard]] std::vector<std::string> words_of(const RatingTold& told);
// The parts of it.
[[nodiscard]] std::string rating_words(const RatingTold& told);  // the most important
[[nodiscard]] std::vector<std::string> rating_notes(const RatingTold& told);
// "46.1", rounded towards less; "none" when there is none.
[[nodiscard]] std::string promised_number(const std::optional<double>& m3_s);

}  // namespace endgate::daemon
