// One limit against one metric: analysis/grade.h, contract lines G-1 ... G-6, and the sentences of
// analysis/grade_sentence.h.

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <sstream>

#include "analysis/grade.h"
#include "analysis/grade_limit.h"
#include "analysis/metric_facts.h"

namespace endgate::analysis {
namespace {

constexpr double kLMin = 1.0 / 60000;  // m3/s

Metric flow_l_min(double l_min, double u_l_min) {
  Metric metric;
  metric.id = "fad_400";
  metric.value = l_min * kLMin;
  metric.u = u_l_min * kLMin;
  return metric;
}

// Plain numbers, so that bounds are exact.
Metric plain(double value, double u) {
  Metric metric;
  metric.id = "current_600";
  metric.value = value;
  metric.u = u;
  return metric;
}

Limit at_least(double lower) {
  Limit limit;
  limit.metric = "current_600";
  limit.lower = lower;
  limit.pass_factor = 2;
  limit.fail_factor = 1;
  return limit;
}

Limit at_most(double upper) {
  Limit limit = at_least(0);
  limit.lower.reset();
  limit.upper = upper;
  return limit;
}

Limit flow_at_least(double l_min) {
  Limit limit;
  limit.metric = "fad_400";
  limit.lower = l_min * kLMin;
  return limit;
}

Verdict verdict_of(const Metric& metric, const Limit& limit) {
  return hold_against(metric, limit).verdict;
}

std::string code_of(const Metric& metric, const Limit& limit) {
  return std::string(hold(metric, limit).code);
}

double just_below(double x) { return std::nextafter(x, -HUGE_VAL); }
double just_above(double x) { return std::nextafter(x, HUGE_VAL); }

TEST(LowerLimit, TheAcceptanceLimitItselfPasses_G1) {
  const Limit limit = at_least(10);  // u = 0.5: w = 1, w' = 0.5
  EXPECT_EQ(verdict_of(plain(11, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(just_below(11), 0.5), limit), Verdict::undecided);
  EXPECT_EQ(verdict_of(plain(9.5, 0.5), limit), Verdict::undecided);
  EXPECT_EQ(verdict_of(plain(just_below(9.5), 0.5), limit), Verdict::fail);
}

TEST(UpperLimit, IsTheMirrorOfTheLower_G1) {
  const Limit limit = at_most(10);
  EXPECT_EQ(verdict_of(plain(9, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(just_above(9), 0.5), limit), Verdict::undecided);
  EXPECT_EQ(verdict_of(plain(10.5, 0.5), limit), Verdict::undecided);
  EXPECT_EQ(verdict_of(plain(just_above(10.5), 0.5), limit), Verdict::fail);
}

TEST(Limit, WithoutAGuardRuleTheBoundDecidesAndPasses_G1) {
  Limit limit = at_least(10);
  limit.guard = GuardRule::none;
  EXPECT_EQ(verdict_of(plain(10, 5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(just_below(10), 5), limit), Verdict::fail);
  EXPECT_EQ(hold_against(plain(10, 5), limit).pass_band, 0);
}

TEST(Limit, KeepsItsBandsAndMargin) {
  const LimitOutcome outcome = hold_against(plain(12, 0.5), at_least(10));
  EXPECT_EQ(outcome.pass_band, 1);
  EXPECT_EQ(outcome.fail_band, 0.5);
  EXPECT_EQ(outcome.margin, 2);
  EXPECT_EQ(outcome.lower, 10);
  EXPECT_EQ(hold_against(plain(8, 0.5), at_least(10)).margin, -2);
}

TEST(Limit, RelaxedBandsThatOverlapMeetAtTheRelaxedAcceptanceLimit_G3) {
  Limit limit = at_least(10);
  limit.pass_factor = -2;  // u = 0.5: accept from 9 on
  limit.fail_factor = 1;   // would fail below 9.5
  EXPECT_EQ(verdict_of(plain(9, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(9.2, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(just_below(9), 0.5), limit), Verdict::fail);
  EXPECT_EQ(hold_against(plain(9, 0.5), limit).fail_band, 1);
}

TEST(Limit, RelaxedUpperBandsMeetToo_G3) {
  Limit limit = at_most(10);
  limit.pass_factor = -2;
  EXPECT_EQ(verdict_of(plain(11, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(just_above(11), 0.5), limit), Verdict::fail);
}

Limit between(double lower, double upper) {
  Limit limit = at_least(lower);
  limit.upper = upper;
  return limit;
}

TEST(TwoSidedLimit, PassesOnlyBetweenBothAcceptanceLimits) {
  const Limit limit = between(10, 14);  // u = 0.5: accept 11 ... 13
  EXPECT_EQ(verdict_of(plain(11, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(13, 0.5), limit), Verdict::pass);
  EXPECT_EQ(verdict_of(plain(13.2, 0.5), limit), Verdict::undecided);
  EXPECT_EQ(verdict_of(plain(14.6, 0.5), limit), Verdict::fail);
  EXPECT_EQ(verdict_of(plain(9.4, 0.5), limit), Verdict::fail);
  EXPECT_EQ(hold_against(plain(13, 0.5), limit).margin, 1);
}

TEST(TwoSidedLimit, WithoutRoomNothingPassesAndItSaysSo_G4) {
  const Limit limit = between(10, 14);
  EXPECT_EQ(code_of(plain(12, 1), limit), "no_room");  // acceptance limits meet at 12
  EXPECT_EQ(code_of(plain(12, 2), limit), "no_room");
  EXPECT_NE(hold_against(plain(12, 2), limit).sentence.find("uncertainty too large for its limits"),
            std::string::npos);
}

TEST(TwoSidedLimit, WithoutRoomWhatIsCertainlyOutsideStillFails_G4) {
  EXPECT_EQ(verdict_of(plain(7.9, 2), between(10, 14)), Verdict::fail);
  EXPECT_EQ(verdict_of(plain(16.1, 2), between(10, 14)), Verdict::fail);
}

TEST(Limit, AMissingOrImpossibleValueIsUndecided_G6) {
  Metric missing = plain(12, 0.5);
  missing.value.reset();
  EXPECT_EQ(code_of(missing, at_least(10)), "metric_missing");
  EXPECT_EQ(code_of(plain(std::nan(""), 0.5), at_least(10)), "metric_missing");
  EXPECT_EQ(code_of(plain(HUGE_VAL, 0.5), at_least(10)), "metric_missing");
  EXPECT_EQ(verdict_of(missing, at_least(10)), Verdict::undecided);
}

TEST(Limit, AValueWithoutUncertaintyIsUndecidedUnderAGuardRule_G6) {
  Metric bare = plain(100, 0.5);
  bare.u.reset();
  EXPECT_EQ(code_of(bare, at_least(10)), "no_uncertainty");
  EXPECT_EQ(code_of(plain(100, std::nan("")), at_least(10)), "no_uncertainty");
  EXPECT_EQ(code_of(plain(100, -1), at_least(10)), "no_uncertainty");
  Limit without_guard = at_least(10);
  without_guard.guard = GuardRule::none;
  EXPECT_EQ(verdict_of(bare, without_guard), Verdict::pass);
}

TEST(Limit, AHugeUncertaintyDecidesNothing) {
  EXPECT_EQ(verdict_of(plain(100, 1e300), at_least(10)), Verdict::undecided);
  EXPECT_EQ(verdict_of(plain(100, HUGE_VAL), at_least(10)), Verdict::undecided);
}

// ---- sentences -------------------------------------------------------------------------------

std::string spaced(std::string text) {  // U+00A0 to a plain space, for reading
  for (std::size_t at; (at = text.find("\u00A0")) != std::string::npos;) text.replace(at, 2, " ");
  return text;
}

std::string sentence(const Metric& metric, const Limit& limit) {
  return spaced(hold_against(metric, limit).sentence);
}

TEST(Sentence, OfAFailNamesMetricValueUncertaintyLimitAndGuardBand_GS1) {
  EXPECT_EQ(sentence(flow_l_min(42.1, 0.3), flow_at_least(44)),
            "Flow at 400 kPa is 42.1 ± 0.6 L/min, 1.9 L/min below its limit of 44.0 L/min "
            "(guard band 0.5 L/min).");
}

TEST(Sentence, OfAPassSaysHowMuchIsToSpare_GS1) {
  EXPECT_EQ(sentence(flow_l_min(47.2, 0.3), flow_at_least(44)),
            "Flow at 400 kPa is 47.2 ± 0.6 L/min, 3.2 L/min above its limit of 44.0 L/min "
            "(guard band 0.5 L/min).");
}

TEST(Sentence, OfAnUndecidedSaysTooNear_GS1) {
  EXPECT_EQ(sentence(flow_l_min(44.2, 0.3), flow_at_least(44)),
            "Flow at 400 kPa is 44.2 ± 0.6 L/min, too near its limit of 44.0 L/min to say "
            "(guard band 0.5 L/min).");
}

TEST(Sentence, OfPercentagesSaysTheDifferenceInPercentagePoints) {
  Metric metric = plain(0.399, 0.001);
  metric.id = "volumetric_efficiency_400";
  Limit limit = at_least(0.735);
  limit.metric = metric.id;
  EXPECT_NE(sentence(metric, limit).find("33.60 percentage points below its limit of 73.50 %"),
            std::string::npos)
      << sentence(metric, limit);
}

TEST(Sentence, OfALeakWritesTheRaisedFigure) {
  Metric metric = plain(50 / 6e7, 1 / 6e7);
  metric.id = "back_leak";
  Limit limit = at_most(30 / 6e7);
  limit.metric = metric.id;
  EXPECT_NE(sentence(metric, limit).find("cm\u00B3/min"), std::string::npos);
}

TEST(Sentence, OfTwoLimitsNamesTheOneItSpeaksOf) {
  EXPECT_EQ(sentence(plain(15.2, 0.1), between(10, 14)),
            "Current at 600 kPa is 15.20 ± 0.20 A, 1.20 A above its upper limit of 14.00 A "
            "(guard band 0.10 A).");
}

TEST(Sentence, OfNoRoomNamesBothLimits) {
  EXPECT_EQ(sentence(plain(12, 2), between(10, 14)),
            "Current at 600 kPa is 12 ± 4 A: uncertainty too large for its limits 10 to 14 A "
            "(guard band 4 A).");
}

TEST(Sentence, WithoutGuardRuleSaysSo) {
  Limit limit = flow_at_least(44);
  limit.guard = GuardRule::none;
  EXPECT_EQ(sentence(flow_l_min(42.1, 0.3), limit),
            "Flow at 400 kPa is 42.1 ± 0.6 L/min, 1.9 L/min below its limit of 44.0 L/min "
            "(no guard band).");
}

TEST(Sentence, OfAMissingMetricGivesTheReason) {
  Metric metric = flow_l_min(0, 0);
  metric.value.reset();
  metric.missing_reason = "hold_400 was not reached";
  EXPECT_EQ(sentence(metric, flow_at_least(44)),
            "Flow at 400 kPa is missing: hold_400 was not reached.");
}

TEST(Sentence, OfAnUnknownUncertaintyNeverSaysPlusMinusZero) {
  EXPECT_EQ(sentence(plain(12, std::nan("")), at_least(10)),
            "Current at 600 kPa is 12.00 A, uncertainty not known.");
}

TEST(Sentence, MarksWhatIsExtrapolated) {
  Metric metric;
  metric.id = "dead_head";
  metric.value = 1234e3;
  metric.u = 20e3;
  metric.extrapolated = true;
  Limit limit;
  limit.metric = "dead_head";
  limit.lower = 1000e3;
  EXPECT_EQ(sentence(metric, limit),
            "Dead-head pressure (extrapolated) is 1 230 ± 40 kPa gauge, 230 kPa above its "
            "limit of 1 000 kPa gauge (guard band 30 kPa).");
}

TEST(Sentence, NeverPutsAFailingValueOnItsLimit_GS2) {
  Limit limit = flow_at_least(44);
  limit.guard = GuardRule::none;
  EXPECT_EQ(sentence(flow_l_min(43.97, 0.3), limit),
            "Flow at 400 kPa is 43.97 ± 0.60 L/min, 0.03 L/min below its limit of 44.0 L/min "
            "(no guard band).");
  EXPECT_EQ(sentence(flow_l_min(44 - 1e-7, 0.3), limit),
            "Flow at 400 kPa is 44.00000 ± 0.60000 L/min, just below its limit of 44.0 L/min "
            "(no guard band).");
}

TEST(Sentence, NeverPutsAValueAcrossItsAcceptanceLimit_GS2) {
  // Accepted from 44.4935 on; 44.46 rounds to 44.5, which would read as accepted.
  EXPECT_NE(sentence(flow_l_min(44.46, 0.3), flow_at_least(44)).find("is 44.46"),
            std::string::npos);
}

TEST(Sentence, AValueOnItsLimitIsAtIt_GS2) {
  Limit limit = at_least(10);
  limit.guard = GuardRule::none;
  EXPECT_NE(sentence(plain(10, 0.5), limit).find(", at its limit of 10.0 A"), std::string::npos);
}

std::size_t words_in(const std::string& text) {
  std::istringstream stream(text);
  std::size_t count = 0;
  for (std::string word; stream >> word;) ++count;
  return count;
}

// A number and its unit are one word, as the no-break space between them says.
TEST(Sentence, HasAtMostTwentyWordsForEveryMetricAndVerdict) {
  for (const MetricFacts& facts : kMetricFacts)
    for (const double value : {0.2, 0.8, 0.95, 1.05, 1.5, 2.0, 2.3}) {
      Metric metric;
      metric.id = facts.id;
      metric.value = value / facts.factor;
      metric.extrapolated = facts.id == "dead_head";
      for (const double u : {0.05, 0.2, 0.9}) {
        metric.u = u / facts.factor;
        for (Limit limit : {at_least(1), at_most(1), between(1, 2)}) {
          if (limit.lower) *limit.lower /= facts.factor;
          if (limit.upper) *limit.upper /= facts.factor;
          const std::string text = hold_against(metric, limit).sentence;
          EXPECT_LE(words_in(text), 20u) << text;
        }
      }
    }
}

TEST(Sentence, OfAMetricThatIsNotInTheTableSpeaksSi) {
  Metric metric = plain(42, 1);
  metric.id = "something_new";
  Limit limit = at_least(50);
  limit.metric = metric.id;
  EXPECT_EQ(sentence(metric, limit).substr(0, 28), "Something_new is 42.0 ± 2.0");
}

}  // namespace
}  // namespace endgate::analysis
