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

namespace endgate::daemon {

struct EarlierTests {
  std::vector<analysis::PastTest> tests;       // oldest first
  bool repaired_since = false;                 // a repair was recorded after the last test
  std::optional<analysis::Decision> decision;  // that counts now
  bool decided_since = false;                  // after the last test
  bool valid_since_decision = false;           // a test that was not void was kept after it
  std::int64_t last_attempt = 0;
  std::string last_words;  // "Passed on 2026-11-25 10:42 UTC, bench north, attempt 1."
};

// Reads the store; run on the pool.  Throws schema::StoreFault.
[[nodiscard]] EarlierTests read_history(const std::filesystem::path& store_folder,
                                        const std::string& serial);

// What retest_refused() must know of the decision.
[[nodiscard]] std::optional<analysis::DecisionWord> decision_on_retest(const EarlierTests& history);

// Why an earlier outcome asks for a reason, and the reasons one may choose from; in this order on
// the page and as codes EG-R1 ... EG-R6.  `purpose` goes into the record.
struct RetestReason {
  std::string words;
  std::string purpose;
  bool means_repaired = false;
};
[[nodiscard]] const std::vector<RetestReason>& reasons_after_pass();
[[nodiscard]] const std::vector<RetestReason>& reasons_after_fail();

}  // namespace endgate::daemon
