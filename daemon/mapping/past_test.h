// What do earlier tests of a serial and decisions on it say, in the words of the analysis?

#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/standing.h"
#include "schema/facts.h"
#include "schema/store.h"

namespace endgate::daemon {

// What happened to this serial beside its tests, as positions of the facts.
struct BetweenTests {
  std::vector<schema::Position> repairs, returns;
};
[[nodiscard]] BetweenTests between_tests(const schema::StoreReader& store,
                                         const std::string& serial);

// A test is judged by what was known when it was started.  What is recorded while it runs is neither
// before nor after it: nobody repairs a unit on a running bench, and a repair that was entered late
// must not wash off the fail of that test.
[[nodiscard]] std::vector<analysis::PastTest> past_tests(
    std::span<const schema::StoredRecord> oldest_first, const BetweenTests& between);

[[nodiscard]] analysis::Decision decision_of(const schema::Disposition& kept);

// The decision that counts, of `oldest_first`: the newest, unless a repair came after it; a scrap
// stands whatever is repaired.  nullptr: none.
[[nodiscard]] const schema::Kept<schema::Disposition>* decision_that_counts(
    std::span<const schema::Kept<schema::Disposition>> oldest_first, schema::Position last_repair);

// What the newest test that counts for a standing and was judged at all was held against; a lab
// trial has limits of its own.  No such test: no limits.  Absent: this version cannot read them.
[[nodiscard]] std::optional<analysis::LimitSet> newest_limits(
    const std::vector<schema::StoredRecord>& tests);

}  // namespace endgate::daemon
