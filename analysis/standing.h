// May this unit ship?  What all its tests since the last repair say together.
//
// WHICH TESTS
//
//   The series: the tests since the last repair, or since the unit came back as `returned` if that
//   is later.  Only a unit that has passed and not failed can come back: calling a test `returned`
//   must not wash off a fail.  A unit that comes back once more, as its recorded returns tell,
//   begins once more.  Purposes production, retest and returned count; lab, trial and
//   reference do not.  Void tests say nothing about the unit.
//
// COMBINATION of m valid tests that have a metric
//
//   value = mean of the values                        never the best, never the last
//   u^2   = sum over causes of (sum of the signed u of that cause over the tests / m)^2
//
//   A cause that two tests share (a calibration) moves both alike and does not average out;
//   "random" and "random/..." are independent in each test.  What the parts leave unexplained of
//   a metric's u counts as shared.  The combined metrics are then held against the limits.
//
//   Pass probability of a unit one u below its limit: one test 15.9 %, the better of two 29.2 %,
//   the mean of two 7.9 % (independent errors).  So a retest wins nothing for a bad unit.
//
//   A relation is combined like a metric.  Of the curve only the whole u is known: at each point of
//   a band it does not shrink with the number of tests.
//
// WORD
//
//   no valid test                                     hold
//   one valid test                                    its own verdict: release, reject, hold
//   several:
//     a fail that no metric explains (a trip)         reject
//     values disagree more than chance explains (1 %) hold
//     the means fail a reject limit                   reject
//     the means leave one undecided                   hold
//     every test was undecided for another reason     hold      (contradicted curve)
//     else                                            release
//
// DECISIONS of people, the newest one
//
//   scrap        reject, whatever is measured, until a retest is decided
//   concession   release, until a valid test is kept after it
//   retest       hold, until a test is kept after it; opens one more attempt
//
// CONTRACT  (tests/analysis/judge_standing_test.cpp)
//
//   ST-1  A verdict of record is never changed: with one valid test the limits are not asked.
//   ST-2  Repeats with only shared causes keep the u of one test; with only random ones
//         u / sqrt(m).
//   ST-3  Swapping the tests of a series changes no word.
//   ST-4  A void neither helps nor harms, but counts as an attempt.
//   ST-5  A retest needs a void, an undecided or a repair.  A unit that has passed may be tested
//         again when a reason is stated: under the mean it cannot gain by it.
//   ST-6  At most three attempts without repair, voids included: stopping a test is no free try.
//   ST-7  Nothing throws except std::bad_alloc.
//   ST-8  A decision never changes a verdict, and no decision makes a later valid test worth less.

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
  bool after_return = false;  // so was a return of the unit
  std::vector<Metric> metrics;
  std::string deciding{};           // sentence of the reason that decided; empty: not known
  std::vector<DrawnPoint> drawn{};  // the curve; empty: none
};

// Production, retest and returned: what a standing is made of.
[[nodiscard]] bool counts_for_standing(const std::string& purpose);

enum class DecisionWord : std::uint8_t { retest, scrap, concession };

// What people decided about a unit.
struct Decision {
  DecisionWord word = DecisionWord::retest;
  std::string reason, by, second_by;
};

inline constexpr std::size_t kMostAttempts = 3;

[[nodiscard]] Standing standing_of(std::span<const PastTest> tests, const LimitSet& limits);

// `measured` as standing_of() says, `newest` the newest decision on the unit.  `tested_since`: a
// test was kept after it; `valid_since`: one that counts and was not void.
[[nodiscard]] Standing with_decision(Standing measured, const Decision& newest, bool tested_since,
                                     bool valid_since);

// Empty: allowed.  Otherwise why this serial may not be tested again just now.
struct RetestRefusal {
  std::string code;  // "has_pass", "has_fail", "three_attempts", "scrapped"
  std::string sentence;
};

// `purpose` of the test asked for: only production and retest are ever refused.  `repaired_since`:
// a repair was recorded after the last of `tests`.  `decided`: the newest decision, if it is a
// scrap or was made after the last of `tests`.
[[nodiscard]] std::optional<RetestRefusal> retest_refused(
    std::span<const PastTest> tests, const std::string& purpose, const std::string& reason,
    bool repaired_since, std::optional<DecisionWord> decided = std::nullopt);

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
