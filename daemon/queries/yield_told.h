// How many units pass at their first test, why do the others not, and does anything launder fails?

#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "analysis/statistics/proportion.h"
#include "daemon/queries/shifts.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct Share {
  std::int64_t count = 0, of = 0;
  [[nodiscard]] double value() const {
    return of > 0 ? static_cast<double>(count) / static_cast<double>(of) : 0;
  }
  [[nodiscard]] statistics::Interval interval() const { return statistics::wilson(count, of); }
};

// Units are counted, not tests, of production and its retests; their first tests are those of first_tests.h.
struct YieldTold {
  std::string model{};
  Share first_pass{}, final_pass{}, undecided{}, retested{};
  Share void_tests{};  // of tests
  struct Reason {
    std::string code{}, subject{};
    Share units{};  // of units not passed at their first test
  };
  std::vector<Reason> reasons{};  // the deciding one of each unit, most frequent first
  // Tests stopped by a person, and of them those whose completed part already broke a limit.
  struct Stops {
    std::string bench{}, person{};
    std::string shift{};  // "06:00 to 14:00"; empty: their begin times are not stated
    Share stopped{}, would_have_failed{};
  };
  std::vector<Stops> stops{};
  bool shifts_stated = false;
  Share passed_after_fail{};  // failed first, passed later without a repair between
};
[[nodiscard]] YieldTold yield_of(const schema::StoreReader& store, TrendFilter filter,
                                 const ShiftPlan& shifts = {});

}  // namespace endgate::daemon
