// How sure is the judgement of a whole unit of this model: escapes, false rejections, no answer?
//
// From first tests (first_tests.h) that did not fail (a faulty unit is not healthy production), the
// newest kMostUnitsForRisk of them that have every limited metric, looked for among kTimesLookedAt
// times as many: their scatter, and the uncertainty and limits of the newest.  The
// model of the drawn units is that of analysis/statistics/unit_risk.h.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/statistics/unit_risk.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

inline constexpr std::size_t kFewestUnitsForRisk = 30;
inline constexpr std::size_t kMostUnitsForRisk = 5000;  // a record is decoded for each
inline constexpr std::size_t kTimesLookedAt = 4;

struct UnitRiskTold {
  std::string model{};
  std::size_t tests = 0;  // behind it
  std::vector<std::string> metrics{};
  std::int64_t left_out = 0;    // limits that are on the curve or on a relation
  statistics::UnitRisk risk{};  // `drawn` is 0 when there are fewer than kFewestUnitsForRisk
};
[[nodiscard]] UnitRiskTold unit_risk_of(const schema::StoreReader& store, const TrendFilter& filter,
                                        std::size_t most = kMostUnitsForRisk);

[[nodiscard]] std::vector<std::string> words_of(const UnitRiskTold& told);

// A share of all units drawn as one of the good ones; nothing when none of them is good.
[[nodiscard]] std::optional<double> of_good(const statistics::UnitRisk& risk, double share);
// Of those that pass, how many break a limit; nothing when none passes.
[[nodiscard]] std::optional<double> bad_of_passed(const statistics::UnitRisk& risk);
// "1.2 %", "under 0.01 %": fewer draws are behind less.
[[nodiscard]] std::string share_drawn_words(double share);

}  // namespace endgate::daemon
