// How do several units compare, own or not: newest test beside newest test?
//
// A unit is named by its serial, or one of its tests as SERIAL/ATTEMPT.  Without an attempt its
// newest test that is not void counts, of any purpose: a lab test, or its birth.  Differences are
// taken to the first unit, what both tests have in common (bench, calibration) taken out of their
// uncertainty (analysis/compare_tests.h).

#pragma once

#include <string>
#include <vector>

#include "analysis/compare_tests.h"
#include "analysis/metric_facts.h"
#include "schema/store.h"

namespace endgate::daemon {

struct UnitBeside {
  schema::StoredRecord test{};
  std::vector<analysis::Difference> to_first{};  // empty for the first
  std::string standing{};                        // of the unit now; empty: none
};

struct SideBySide {
  std::vector<UnitBeside> units{};
  std::vector<const analysis::MetricFacts*> metrics{};  // that at least one of them has
  std::vector<std::string> not_found{};                 // as they were named
  std::vector<std::string> only_void{};                 // known, without a test that counts
  [[nodiscard]] bool other_models() const;
  [[nodiscard]] bool other_benches() const;
};
[[nodiscard]] SideBySide side_by_side(const schema::StoreReader& store,
                                      const std::vector<std::string>& named);

// nullptr: the test does not have it.
[[nodiscard]] const schema::MetricValue* metric_in(const UnitBeside& unit,
                                                   const analysis::MetricFacts& facts);
[[nodiscard]] const analysis::Difference* difference_in(const UnitBeside& unit,
                                                        const analysis::MetricFacts& facts);

// Does a unit differ from the first beyond its uncertainty, and in what?
[[nodiscard]] std::string difference_words(const SideBySide& told, std::size_t unit);

// What is compared and what is not taken out, one statement a line.
[[nodiscard]] std::vector<std::string> words_of(const SideBySide& told);

}  // namespace endgate::daemon
