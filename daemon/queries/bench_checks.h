// What do the kept facts say about a bench: open alarms, checks, how often its parts were used?

#pragma once

#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <vector>

#include "analysis/reference_check.h"
#include "daemon/queries/unit_events.h"
#include "schema/store.h"

namespace endgate::daemon {

inline constexpr const char* kReferenceUnit = "reference_unit";  // kinds of schema::BenchCheck
inline constexpr const char* kWearPart = "wear_part";
inline constexpr const char* kLearnAnew = "learn_anew";  // outcome: what follows is the new level
inline constexpr const char* kNotTaken = "not_taken";    // outcome: nothing is learned from it
inline constexpr const char* kReplaced = "replaced";

using KeptCheck = schema::Kept<schema::BenchCheck>;
using KeptAlarm = schema::Kept<schema::Alarm>;

struct BenchKept {
  std::vector<KeptAlarm> alarms{};                      // open or owned, of this bench
  std::vector<KeptCheck> checks{};                      // oldest first
  std::map<std::string, std::int64_t> tests_on_part{};  // since it was replaced, by part
  std::int64_t tests_in_30_days = 0;
  std::vector<UnitEvent> withdrawn{};  // checks that were taken back, oldest first
};

// All of it, for a page.  `parts`: ids of the wear parts asked for.  Throws StoreFault.
[[nodiscard]] BenchKept kept_of_bench(const schema::StoreReader& store, const std::string& bench,
                                      std::span<const std::string> parts, std::int64_t now_utc_ms);
// What a scan has to know: alarms, the newest check of each kind named and of each part, and how
// often parts were used.  As quick after ten million tests as after ten: uses are counted from the
// last mark of trend.db (schema/trend_file.h); without that file every record since is counted.
[[nodiscard]] BenchKept due_on_bench(const schema::StoreReader& store, const std::string& bench,
                                     std::span<const std::string> check_kinds,
                                     std::span<const std::string> parts);

// The newest of a kind; of any subject when `subject` is empty.  nullptr: none.
[[nodiscard]] const KeptCheck* newest_check(std::span<const KeptCheck> checks,
                                            const std::string& kind,
                                            const std::string& subject = "");

// The reference tests of one unit that its expected values are learned from: those since it was
// last told to learn anew that were neither out of control nor not taken.
[[nodiscard]] std::vector<analysis::ReferenceTest> earlier_reference_tests(
    std::span<const KeptCheck> checks, const std::string& serial);

// What a test of a reference unit says about its bench, as it is kept.  While the unit is being
// learned, a test that fails or lies far from its fellows is not taken: what was clamped may be
// another unit, or the bench may be wrong.
[[nodiscard]] schema::BenchCheck reference_check_of(const schema::Record& record,
                                                    const std::string& unit_name,
                                                    std::span<const KeptCheck> checks);

// Position of the fact that opened the alarm.
[[nodiscard]] inline schema::Position opened_by(const KeptAlarm& alarm) {
  return alarm.fact.opened > 0 ? alarm.fact.opened : alarm.position;
}

}  // namespace endgate::daemon
