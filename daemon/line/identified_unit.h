// Everything a station must know of a scanned unit before it may start it.

#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/standing.h"
#include "daemon/definitions/model_definition.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct EarlierTests {
  std::vector<analysis::PastTest> tests;       // oldest first
  bool repaired_since = false;                 // a repair was recorded after the last test
  bool returned_since = false;                 // so was a return
  std::optional<analysis::Decision> decision;  // that counts now
  bool decided_since = false;                  // after the last test
  bool valid_since_decision = false;           // a test that was not void was kept after it
  std::int64_t last_attempt = 0;
  std::string under_test_on;  // bench of a start whose record is not kept yet; empty: none
  std::string last_words;     // "Passed on 2026-11-25 10:42 UTC, bench north, attempt 1."
};

// Reads the store; run on the pool.  Throws schema::StoreFault.
[[nodiscard]] EarlierTests read_history(const std::filesystem::path& store_folder,
                                        const std::string& serial);

// Nothing that decides on the next test differs.
[[nodiscard]] bool say_the_same(const EarlierTests& a, const EarlierTests& b);

// What all tests of the unit, `newest` included, and people's decisions on it say together.
[[nodiscard]] analysis::Standing standing_with(const EarlierTests& history,
                                               analysis::PastTest newest,
                                               const analysis::LimitSet& limits);

// The same when `start` was broken off before it was judged: what held before it holds on.
[[nodiscard]] analysis::Standing standing_when_broken_off(const std::filesystem::path& store_folder,
                                                          const schema::TestStart& start);

// What retest_refused() must know of the decision.
[[nodiscard]] std::optional<analysis::DecisionWord> decision_on_retest(const EarlierTests& history);

// Why an earlier outcome asks for a reason, and the reasons one may choose from; in this order on
// the page and as codes EG-R1 ... EG-R6.  `purpose` goes into the record.
struct RetestReason {
  std::string words;
  std::string purpose;
  bool means_repaired = false;  // offered, but taken only when the repair was recorded
};
[[nodiscard]] const std::vector<RetestReason>& reasons_after_pass();
[[nodiscard]] const std::vector<RetestReason>& reasons_after_fail();

}  // namespace endgate::daemon
