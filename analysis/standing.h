// May this unit ship?  What all its tests since the last repair say together.
//
// Repeats combine by their mean with correct uncertainty (shared causes do not average out), never
// by the best or the last.  Void tests say nothing and hold.  A retest needs a void, an undecided
// or a repair; at most three attempts without repair.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/evaluation.h"

namespace endgate::analysis {

enum class StandingWord : std::uint8_t { release = 0, hold = 1, reject = 2 };

struct Standing {
  StandingWord word = StandingWord::hold;
  std::string reason;  // one plain sentence
};

// One earlier test, oldest first, as the store knows it.
struct PastTest {
  int attempt = 0;
  Verdict verdict = Verdict::void_;
  std::string purpose;        // production, retest, returned, ...
  bool after_repair = false;  // a repair was recorded between this test and the one before
  std::vector<Metric> metrics;
};

[[nodiscard]] Standing standing_of(std::span<const PastTest> tests, const LimitSet& limits);

// Empty: allowed.  Otherwise why this serial may not be tested again just now.
struct RetestRefusal {
  std::string code;  // "has_pass", "has_fail", "three_attempts"
  std::string sentence;
};
[[nodiscard]] std::optional<RetestRefusal> retest_refused(std::span<const PastTest> tests,
                                                          const std::string& purpose,
                                                          const std::string& reason,
                                                          bool repaired_since);

constexpr const char* word_of(StandingWord word) {
  switch (word) {
    case StandingWord::release:
      return "release";
    case StandingWord::hold:
      return "hold";
    case StandingWord::reject:
      return "reject";
  }
  return "hold";
}

}  // namespace endgate::analysis
