// analysis/standing.h, contract lines ST-1 ... ST-8.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <random>

#include "analysis/standing.h"
#include "analysis/standing_combine.h"

namespace endgate::analysis {
namespace {

constexpr const char* kSharedCause = "calibration north@1/flow";

Metric measured(double value, double u_random, double u_shared) {
  Metric metric;
  metric.id = "current_600";
  metric.value = value;
  metric.u = std::hypot(u_random, u_shared);
  metric.parts = {{"random", u_random}, {kSharedCause, u_shared}};
  return metric;
}

PastTest test_of(Verdict verdict, double value = 12, double u_random = 0.5, double u_shared = 0) {
  PastTest test;
  test.verdict = verdict;
  test.purpose = "production";
  test.metrics = {measured(value, u_random, u_shared)};
  return test;
}

PastTest void_test() {
  PastTest test = test_of(Verdict::void_);
  test.metrics.clear();
  return test;
}

// At least 10, w = w' = 1.645 u.
LimitSet limits() {
  Limit limit;
  limit.metric = "current_600";
  limit.lower = 10;
  return {"limits", 1, {limit}};
}

StandingWord word(std::vector<PastTest> tests) {
  for (std::size_t i = 0; i < tests.size(); ++i) tests[i].attempt = static_cast<int>(i) + 1;
  return standing_of(tests, limits()).word;
}

TEST(Standing, OfAnUntestedUnitIsHold) { EXPECT_EQ(word({}), StandingWord::hold); }

TEST(Standing, OfOneTestIsItsVerdict_ST1) {
  EXPECT_EQ(word({test_of(Verdict::pass)}), StandingWord::release);
  EXPECT_EQ(word({test_of(Verdict::fail)}), StandingWord::reject);
  EXPECT_EQ(word({test_of(Verdict::undecided)}), StandingWord::hold);
  EXPECT_EQ(word({void_test()}), StandingWord::hold);
}

TEST(Standing, DoesNotJudgeASingleTestAgain_ST1) {
  EXPECT_EQ(word({test_of(Verdict::pass, 2)}), StandingWord::release);  // limits were others then
}

TEST(Standing, AVoidNeitherHelpsNorHarms_ST4) {
  EXPECT_EQ(word({void_test(), test_of(Verdict::pass)}), StandingWord::release);
  EXPECT_EQ(word({test_of(Verdict::fail), void_test()}), StandingWord::reject);
  EXPECT_EQ(word({void_test(), void_test()}), StandingWord::hold);
}

TEST(Standing, TheMeanOfUndecidedRepeatsMayDecide) {
  // 10.7 is 1.4 u above: undecided.  The mean of two has u 0.354, so it is 1.98 u above.
  const PastTest near = test_of(Verdict::undecided, 10.7);
  EXPECT_EQ(word({near}), StandingWord::hold);
  EXPECT_EQ(word({near, near}), StandingWord::release);
}

TEST(Standing, SharedUncertaintyDoesNotAverageOut_ST2) {
  const PastTest pass = test_of(Verdict::pass, 10.9, 0.5, 0);
  const PastTest near = test_of(Verdict::undecided, 10.7, 0.5, 0);
  EXPECT_EQ(word({near, pass}), StandingWord::release);
  const PastTest shared_pass = test_of(Verdict::pass, 10.9, 0, 0.5);
  const PastTest shared_near = test_of(Verdict::undecided, 10.7, 0, 0.5);
  EXPECT_EQ(word({shared_near, shared_pass}), StandingWord::hold);
}

TEST(Standing, TheLastTestDoesNotWin) {
  const PastTest low = test_of(Verdict::undecided, 9.4);
  const PastTest good = test_of(Verdict::pass, 10.9);
  EXPECT_EQ(word({low, good}), StandingWord::hold);  // the mean is 10.15
}

TEST(Standing, TheMeanMayReject) {
  const PastTest low = test_of(Verdict::undecided, 9.3);
  EXPECT_EQ(word({low, test_of(Verdict::undecided, 9.2)}), StandingWord::reject);
}

TEST(Standing, SaysOfHowManyTestsAMeanIs) {
  PastTest without = test_of(Verdict::undecided);
  without.metrics.clear();  // a channel broke; the limit was left without a value
  const PastTest low = test_of(Verdict::undecided, 9.2);
  const std::vector<PastTest> tests{low, without, low};
  EXPECT_EQ(standing_of(tests, limits()).reason.substr(0, 17), "Mean of 2 tests: ");
}

TEST(Standing, TheOrderOfTheTestsDoesNotMatter_ST3) {
  std::vector<PastTest> tests{test_of(Verdict::undecided, 9.4), test_of(Verdict::pass, 10.9),
                              test_of(Verdict::undecided, 10.5)};
  const StandingWord forward = word(tests);
  std::reverse(tests.begin(), tests.end());
  EXPECT_EQ(word(tests), forward);
}

TEST(Standing, TestsThatDisagreeMoreThanChanceHold) {
  const PastTest low = test_of(Verdict::undecided, 10.2, 0.2);
  const PastTest high = test_of(Verdict::pass, 14, 0.2);
  EXPECT_EQ(word({low, high}), StandingWord::hold);
  const std::vector<PastTest> tests{low, high};
  EXPECT_EQ(standing_of(tests, limits()).reason,
            "The tests disagree on current at 600\u00A0kPa by more than chance.");
}

TEST(Standing, AFailThatNoMetricExplainsRejects) {
  PastTest tripped = test_of(Verdict::fail);
  tripped.metrics.clear();
  EXPECT_EQ(word({test_of(Verdict::undecided, 10.5), tripped}), StandingWord::reject);
  EXPECT_EQ(word({tripped, test_of(Verdict::pass)}), StandingWord::reject);
}

TEST(Standing, TestsThatAllCouldNotDecideForAnotherReasonHold) {
  const PastTest contradicted = test_of(Verdict::undecided, 14);  // its metrics keep every limit
  EXPECT_EQ(word({contradicted, contradicted}), StandingWord::hold);
  EXPECT_EQ(word({contradicted, test_of(Verdict::pass, 14)}), StandingWord::release);
}

TEST(Standing, AMissingMetricIsTakenFromTheTestThatHasIt) {
  PastTest missing = test_of(Verdict::undecided);
  missing.metrics.clear();
  EXPECT_EQ(word({missing, test_of(Verdict::pass, 14)}), StandingWord::release);
  EXPECT_EQ(word({missing, missing}), StandingWord::hold);
}

TEST(Standing, ARepairStartsTheCountAgain) {
  PastTest repaired = test_of(Verdict::pass);
  repaired.after_repair = true;
  EXPECT_EQ(word({test_of(Verdict::fail), repaired}), StandingWord::release);
  PastTest void_after = void_test();
  void_after.after_repair = true;
  EXPECT_EQ(word({test_of(Verdict::pass), void_after}), StandingWord::hold);
}

PastTest with_purpose(PastTest test, const std::string& purpose) {
  test.purpose = purpose;
  return test;
}

TEST(Standing, LabTrialAndReferenceTestsSayNothingAboutShipping) {
  EXPECT_EQ(
      standing_of(std::vector{with_purpose(test_of(Verdict::pass), "reference")}, {}).reason,
      "No test of it counts for a standing: tests of purpose reference, lab and trial do not.");
  for (const char* purpose : {"lab", "trial", "reference"})
    EXPECT_EQ(word({test_of(Verdict::pass), with_purpose(test_of(Verdict::fail), purpose)}),
              StandingWord::release)
        << purpose;
}

TEST(Standing, ARepairBeforeALabTestStillCounts) {
  PastTest lab = with_purpose(test_of(Verdict::pass), "lab");
  lab.after_repair = true;
  EXPECT_EQ(word({test_of(Verdict::fail), lab, test_of(Verdict::pass)}), StandingWord::release);
}

TEST(Standing, AUnitThatCameBackIsJudgedAsItIsNow) {
  EXPECT_EQ(word({test_of(Verdict::pass), with_purpose(test_of(Verdict::fail), "returned")}),
            StandingWord::reject);
}

TEST(Standing, AUnitThatCameBackTwiceIsJudgedByItsLastReturn) {
  const PastTest first = with_purpose(test_of(Verdict::pass, 13), "returned");
  PastTest second = with_purpose(test_of(Verdict::fail, 9), "returned");
  EXPECT_EQ(word({test_of(Verdict::pass), first, second}), StandingWord::hold)
      << "without a recorded return it is the same return, tested twice: the two disagree";
  second.after_return = true;
  EXPECT_EQ(word({test_of(Verdict::pass), first, second}), StandingWord::reject);
}

TEST(Standing, ANewReturnBeginsAnewAlsoBehindOneThatWasNotDecided) {
  const PastTest first = with_purpose(test_of(Verdict::undecided, 10.6), "returned");
  PastTest second = with_purpose(test_of(Verdict::fail, 9), "returned");
  second.after_return = true;
  EXPECT_EQ(word({test_of(Verdict::pass), first, second}), StandingWord::reject);
}

TEST(Standing, AReturnBeforeALabTestStillCounts) {
  PastTest lab = with_purpose(test_of(Verdict::pass), "lab");
  lab.after_return = true;
  EXPECT_EQ(word({test_of(Verdict::pass), with_purpose(test_of(Verdict::pass, 13), "returned"), lab,
                  with_purpose(test_of(Verdict::fail, 9), "returned")}),
            StandingWord::reject);
}

TEST(Standing, ANewReturnWashesOffNoFail) {
  PastTest tripped = with_purpose(test_of(Verdict::fail), "returned");
  tripped.metrics.clear();
  PastTest again = with_purpose(test_of(Verdict::pass), "returned");
  again.after_return = true;
  EXPECT_EQ(word({test_of(Verdict::pass), tripped, again}), StandingWord::reject);
}

TEST(Standing, CallingATestReturnedDoesNotWashOffAFail) {
  EXPECT_EQ(word({test_of(Verdict::fail, 5), with_purpose(test_of(Verdict::pass), "returned")}),
            StandingWord::hold);  // the two disagree
  PastTest tripped = test_of(Verdict::fail);
  tripped.metrics.clear();
  EXPECT_EQ(word({tripped, with_purpose(test_of(Verdict::pass), "returned")}),
            StandingWord::reject);
}

TEST(Standing, SaysItsReasonInASentence) {
  std::vector<PastTest> tests{test_of(Verdict::pass)};
  tests[0].attempt = 1;
  EXPECT_EQ(standing_of(tests, limits()).reason, "Attempt 1 passed.");
  tests = {test_of(Verdict::undecided, 10.7), test_of(Verdict::pass, 10.9)};
  EXPECT_EQ(standing_of(tests, limits()).reason, "The mean of 2 tests keeps every limit.");
}

// ---- combination -----------------------------------------------------------------------------

TEST(Combination, OfRandomPartsShrinksWithTheRoot_ST2) {
  const std::vector<Metric> tests(4, measured(10, 0.4, 0));
  EXPECT_NEAR(*combine("current_600", tests).metric.u, 0.2, 1e-15);
}

TEST(Combination, OfSharedPartsDoesNotShrink_ST2) {
  const std::vector<Metric> tests(4, measured(10, 0, 0.4));
  EXPECT_NEAR(*combine("current_600", tests).metric.u, 0.4, 1e-15);
}

// u_s 0.40, u_r 0.45: the mean of two has 0.5111262, of three 0.4769696 (computed, no publication).
TEST(Combination, OfBothPartsAgreesWithWorkedValues) {
  const std::vector<Metric> two(2, measured(10, 0.45, 0.40));
  const std::vector<Metric> three(3, measured(10, 0.45, 0.40));
  EXPECT_NEAR(*combine("current_600", two).metric.u, 0.5111262, 1e-7);
  EXPECT_NEAR(*combine("current_600", three).metric.u, 0.4769696, 1e-7);
}

TEST(Combination, SharedPartsOfOppositeSignCancel_ST2) {
  const std::vector<Metric> tests{measured(10, 0, 0.4), measured(10, 0, -0.4)};
  EXPECT_NEAR(*combine("current_600", tests).metric.u, 0, 1e-15);
}

TEST(Combination, CausesOfTwoBenchesAverage) {
  std::vector<Metric> tests(2, measured(10, 0, 0.4));
  tests[1].parts[1].cause = "calibration south@1/flow";
  EXPECT_NEAR(*combine("current_600", tests).metric.u, 0.4 / std::sqrt(2), 1e-15);
}

TEST(Combination, WhatThePartsLeaveUnexplainedCountsAsShared) {
  std::vector<Metric> tests(4, measured(10, 0.3, 0));
  for (Metric& metric : tests) metric.u = 0.5;  // 0.4 has no cause
  EXPECT_NEAR(*combine("current_600", tests).metric.u, std::hypot(0.15, 0.4), 1e-12);
}

// Peelle's trap: with the common gain inside the weights 1.0 and 1.5 would give 0.88.
TEST(Combination, LiesBetweenItsValuesUnderACommonGain) {
  const std::vector<Metric> tests{measured(1.0, 0.10, 0.20), measured(1.5, 0.15, 0.30)};
  const CombinedMetric combined = combine("current_600", tests);
  EXPECT_NEAR(*combined.metric.value, 1.25, 1e-15);
  EXPECT_NEAR(*combined.metric.u, std::hypot(std::hypot(0.10, 0.15) / 2, 0.25), 1e-12);
}

TEST(Combination, ValuesWithoutUncertaintyGiveNone) {
  std::vector<Metric> tests(2, measured(10, 0.3, 0));
  tests[1].u.reset();
  EXPECT_FALSE(combine("current_600", tests).metric.u.has_value());
}

TEST(Combination, ASharedCalibrationExplainsNoScatter) {
  EXPECT_FALSE(
      combine("current_600", std::vector{measured(10, 0.1, 5), measured(11, 0.1, 5)}).consistent);
  std::vector<Metric> two_benches{measured(10, 0.1, 5), measured(11, 0.1, 5)};
  two_benches[1].parts[1].cause = "calibration south@1/flow";
  EXPECT_TRUE(combine("current_600", two_benches).consistent);
}

TEST(Combination, OnlyWhatTestsHaveUnequallyOfASharedCauseExplainsScatter) {
  // One test needed a large thermal correction, the other a small one of the same sign.
  std::vector<Metric> tests{measured(10, 0.1, 2.0), measured(11, 0.1, 1.0)};
  EXPECT_TRUE(combine("current_600", tests).consistent);  // u of the difference: 1.01
  tests[1].parts[1].u = 1.9;
  EXPECT_FALSE(combine("current_600", tests).consistent);  // 0.17
}

// How often do three honest repeats count as disagreeing?  Simulation with a fixed seed.
TEST(Combination, CallsOneHonestSeriesInAHundredInconsistent) {
  std::mt19937_64 random(3);
  std::normal_distribution<double> normal;
  const int trials = 10000;
  int inconsistent = 0;
  for (int trial = 0; trial < trials; ++trial) {
    std::vector<Metric> tests;
    const double shared = 0.4 * normal(random);
    for (int i = 0; i < 3; ++i)
      tests.push_back(measured(10 + shared + 0.2 * normal(random), 0.2, 0.4));
    inconsistent += combine("current_600", tests).consistent ? 0 : 1;
  }
  EXPECT_NEAR(inconsistent / 100.0, 1.0, 0.4);
}

// ---- retest ----------------------------------------------------------------------------------

std::string refusal(const std::vector<PastTest>& tests, const std::string& reason = "",
                    bool repaired = false, const std::string& purpose = "retest") {
  const auto refused = retest_refused(tests, purpose, reason, repaired);
  return refused ? refused->code : "";
}

TEST(Retest, IsAllowedForAFirstTestAVoidAndAnUndecided_ST5) {
  EXPECT_EQ(refusal({}, "", false, "production"), "");
  EXPECT_EQ(refusal({void_test()}), "");
  EXPECT_EQ(refusal({test_of(Verdict::undecided)}), "");
}

TEST(Retest, OfAPassNeedsAReason_ST5) {
  EXPECT_EQ(refusal({test_of(Verdict::pass)}), "has_pass");
  EXPECT_EQ(refusal({test_of(Verdict::pass)}, "audit"), "");
  EXPECT_EQ(refusal({test_of(Verdict::pass)}, "", false, "production"), "has_pass");
}

TEST(Retest, OfAFailNeedsARepairWhateverTheReason_ST5) {
  EXPECT_EQ(refusal({test_of(Verdict::fail)}, "try again"), "has_fail");
  EXPECT_EQ(refusal({test_of(Verdict::fail), void_test()}, "try again"), "has_fail");
  EXPECT_EQ(refusal({test_of(Verdict::fail)}, "", true), "");
}

TEST(Retest, IsRefusedAfterThreeAttemptsWithoutRepair_ST6) {
  const std::vector<PastTest> two(2, test_of(Verdict::undecided));
  EXPECT_EQ(refusal(two), "");
  std::vector<PastTest> three = two;
  three.push_back(void_test());
  EXPECT_EQ(refusal(three, "once more"), "three_attempts");
  EXPECT_EQ(refusal(three, "", true), "");
  three.back().after_repair = true;
  EXPECT_EQ(refusal(three), "");
}

TEST(Retest, LabTrialReferenceAndReturnsAreNeverRefused) {
  for (const char* purpose : {"lab", "trial", "reference", "returned"})
    EXPECT_EQ(refusal({test_of(Verdict::fail)}, "", false, purpose), "") << purpose;
}

Decision decided(DecisionWord word) {
  return {.word = word, .reason = "as agreed", .by = "Ada", .second_by = "Ben"};
}

TEST(Standing, AScrappedUnitStaysRejectedWhateverIsMeasured_ST8) {
  const Standing passed{StandingWord::release, "Attempt 1 passed."};
  for (const bool since : {false, true}) {
    const Standing now = with_decision(passed, decided(DecisionWord::scrap), since, since);
    EXPECT_EQ(now.word, StandingWord::reject);
    EXPECT_EQ(now.reason, "Scrapped by Ada: as agreed");
  }
}

TEST(Standing, AConcessionReleasesUntilAValidTestIsKept_ST8) {
  const Standing failed{StandingWord::reject, "Attempt 1 failed."};
  const Decision concession = decided(DecisionWord::concession);
  EXPECT_EQ(with_decision(failed, concession, false, false).word, StandingWord::release);
  EXPECT_EQ(with_decision(failed, concession, true, false).word, StandingWord::release)
      << "a void says nothing";
  EXPECT_EQ(with_decision(failed, concession, true, true).reason, "Attempt 1 failed.");
}

TEST(Standing, ADecidedRetestHoldsTheUnitUntilItIsTested_ST8) {
  const Standing passed{StandingWord::release, "Attempt 1 passed."};
  const Decision retest = decided(DecisionWord::retest);
  EXPECT_EQ(with_decision(passed, retest, false, false).word, StandingWord::hold);
  EXPECT_EQ(with_decision(passed, retest, true, false).word, StandingWord::release);
}

TEST(Standing, ADecidedRetestOpensOneMoreAttemptAndAScrapCloses_ST6) {
  std::vector<PastTest> three(3);
  for (PastTest& test : three) test.purpose = "production";
  const auto refused = [&](std::optional<DecisionWord> word, bool repaired = false) {
    const auto refusal = retest_refused(three, "retest", "again", repaired, word);
    return refusal ? refusal->code : "";
  };
  EXPECT_EQ(refused(std::nullopt), "three_attempts");
  EXPECT_EQ(refused(DecisionWord::retest), "");
  EXPECT_EQ(refused(DecisionWord::scrap), "scrapped");
  EXPECT_EQ(refused(DecisionWord::scrap, true), "scrapped") << "a repair does not call it back";
}

Standing decided(StandingWord measured, DecisionWord word, bool tested, bool valid) {
  return with_decision({measured, "as measured"}, {word, "why", "Ada", "Bo"}, tested, valid);
}

TEST(Decision, ScrapRejectsWhateverIsMeasured_ST8) {
  for (const bool tested : {false, true}) {
    const Standing scrapped = decided(StandingWord::release, DecisionWord::scrap, tested, tested);
    EXPECT_EQ(scrapped.word, StandingWord::reject);
    EXPECT_EQ(scrapped.reason, "Scrapped by Ada: why");
  }
}

TEST(Decision, AConcessionReleasesUntilAValidTest_ST8) {
  const auto released = decided(StandingWord::hold, DecisionWord::concession, true, false);
  EXPECT_EQ(released.word, StandingWord::release);
  EXPECT_EQ(released.reason, "Concession by Ada and Bo: why");
  EXPECT_EQ(decided(StandingWord::reject, DecisionWord::concession, true, true).word,
            StandingWord::reject);
}

TEST(Decision, ARetestHoldsUntilItIsMade_ST8) {
  EXPECT_EQ(decided(StandingWord::release, DecisionWord::retest, false, false).reason,
            "A retest was decided by Ada: why");
  EXPECT_EQ(decided(StandingWord::release, DecisionWord::retest, true, false).reason,
            "as measured");
}

TEST(Retest, DecidedByAPersonOpensOneMoreAttempt_ST6) {
  const std::vector<PastTest> three(3, void_test());
  const auto code = [&](std::optional<DecisionWord> word) {
    const auto refused = retest_refused(three, "retest", "", false, word);
    return refused ? refused->code : "";
  };
  EXPECT_EQ(code(std::nullopt), "three_attempts");
  EXPECT_EQ(code(DecisionWord::retest), "");
  EXPECT_EQ(code(DecisionWord::concession), "three_attempts");
}

TEST(Retest, OfAScrappedUnitIsRefusedEvenAfterARepair) {
  const std::vector<PastTest> tests{test_of(Verdict::fail)};
  EXPECT_EQ(retest_refused(tests, "retest", "", true, DecisionWord::scrap)->code, "scrapped");
  EXPECT_FALSE(retest_refused(tests, "retest", "", true, DecisionWord::concession));
}

TEST(Standing, NamesTheReasonThatDecidedASingleTest) {
  PastTest test = test_of(Verdict::undecided);
  test.attempt = 2;
  test.deciding = "The curve is contradicted.";
  EXPECT_EQ(standing_of(std::vector{test}, limits()).reason,
            "Attempt 2 could not decide: The curve is contradicted.");
  test.verdict = Verdict::fail;
  EXPECT_EQ(standing_of(std::vector{test}, limits()).reason,
            "Attempt 2 failed: The curve is contradicted.");
}

}  // namespace
}  // namespace endgate::analysis
