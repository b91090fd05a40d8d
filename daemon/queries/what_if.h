// How many verdicts would change under another limit?
//
// Stored values and their u are held against the draft by the same rule as a test is; every other
// limit, one on the curve or on a relation too, stays as it was.  First tests only (first_tests.h):
// a reworked unit would count twice.  The interval is that of the share in future production of the
// same kind (Wilson); the units that suggested a limit do not prove it.  A test that was held
// against no limit on the metric then, because there was none, keeps its verdict for what lies
// elsewhere; the guard band is the usual one (factor kUsualGuard of u).  Tests without a value of it
// are left out there.

#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/queries/yield_told.h"

namespace endgate::daemon {

inline constexpr double kUsualGuard = 1.645;

struct DraftLimit {
  std::string metric{};
  std::optional<double> lower{}, upper{};  // SI
};

struct WhatIf {
  Share changed{};
  std::map<std::pair<std::string, std::string>, std::int64_t> from_to{};
  std::vector<std::string> serials{};  // of changed units, oldest first
  Share pass_before{}, pass_after{};
  // A unit near the bound could fall on either side if it were measured again: the expected number
  // on the good side of the acceptance limit, and its standard deviation.
  double expected_pass = 0, expected_pass_u = 0;
  std::int64_t without_limit = 0;  // of them nothing was held against the metric then
};
// Nothing when no test that matches has a limit on that metric or a value of it.
[[nodiscard]] std::optional<WhatIf> what_if(const schema::StoreReader& store,
                                            const TrendFilter& filter, const DraftLimit& draft);

}  // namespace endgate::daemon
