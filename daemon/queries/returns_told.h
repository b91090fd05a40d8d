// After how long do units of a model come back, and did their birth records show it?
//
// A unit is born with its first passed test of production or retest, and released by it.  The
// filter is about births; where and when a unit came back does not matter.
//
//   came back    the time in use of its first return after birth, in months, as the person at the
//                intake says it (0 counts as half a month); not stated is missing, and a time
//                longer than the unit is old cannot be right: both are counted and left out of
//                times.  More than a tenth of those back: shares still out are said as "at most",
//                without interval or form
//   still out    censored at its age: from birth to the newest thing kept here.  WHEN IT WAS
//                SOLD IS NOT KNOWN, so its time in use is overstated and shares back are
//                understated, and so are returns that nobody entered
//
// Which birth metrics tell: one at a time, at equal age (hazard_step.h), each unit against those of
// its own batch alone (of its month of birth without one): by the rank of what it differs from the
// mean of its batch.  So a metric that drifted over the calendar cannot seem to tell because units
// of one time are longer in use or better known; and what a whole batch has in common tells nothing
// here.  p-values are adjusted for looking at many.  Only what passed was released: a metric that
// is judged sharply shows little here.  Below kFewestReturns that can be compared nothing is looked
// for.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "analysis/statistics/hazard_step.h"
#include "analysis/statistics/lifetime.h"
#include "daemon/queries/yield_told.h"

namespace endgate::daemon {

inline constexpr std::int64_t kFewestReturns = 10;
inline constexpr double kChanceTold = 0.05;  // of adjusted p-values

struct ReturnsTold {
  std::string model{};
  std::int64_t as_of_utc_ms = 0;
  Share back{};                               // of units released
  std::int64_t never_passed = 0;              // of the model, back without a passed test before
  std::int64_t not_stated = 0, too_long = 0;  // of those back: left out of times
  double oldest_months = 0;                   // the longest life looked at
  std::vector<statistics::Life> lives{};      // months
  std::vector<statistics::ShareOut> steps{};
  std::optional<statistics::WeibullFit> form{};
  std::string no_form{};  // why there is none

  struct Tells {
    const analysis::MetricFacts* metric = nullptr;
    std::int64_t units = 0, back = 0;  // back: that have another unit of their batch beside them
    statistics::HazardStep step{};
    double p_adjusted = 1;
    [[nodiscard]] bool told() const { return p_adjusted < kChanceTold; }
  };
  std::vector<Tells> metrics{};  // the clearest first
  std::int64_t metrics_looked_at = 0;
  std::int64_t compared = 0;  // returns that have another unit of their batch beside them, at most
  std::vector<const analysis::MetricFacts*> without_bound{};  // all returns lie at one end of them
  double least_ratio = 0;  // that would be told in 8 of 10 cases; 0: nothing was looked for

  [[nodiscard]] std::int64_t timed() const { return back.count - not_stated - too_long; }
  // So many returns lack their time that shares still out are known from above only.
  [[nodiscard]] bool times_lack() const { return 10 * (not_stated + too_long) > back.count; }
};

[[nodiscard]] ReturnsTold returns_of(const schema::StoreReader& store, TrendFilter filter);

// How many released units were in use for at least so many months.
[[nodiscard]] std::int64_t at_risk(const ReturnsTold& told, double months);
// The step in force at an age; share 1 before the first.
[[nodiscard]] statistics::ShareOut share_at(const ReturnsTold& told, double months);

}  // namespace endgate::daemon
