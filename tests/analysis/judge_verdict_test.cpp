// The verdict of a test: analysis/grade.h, "RULE for the test" and contract lines G-5 ... G-8.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>

#include "analysis/grade.h"
#include "analysis/reason_codes.h"

namespace endgate::analysis {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;

Metric metric(const std::string& id, double value, double u) {
  Metric made;
  made.id = id;
  made.value = value;
  made.u = u;
  return made;
}

Limit lower_limit(const std::string& id, double lower) {
  Limit limit;
  limit.metric = id;
  limit.lower = lower;
  return limit;
}

// A bench with every role, a limit on flow, one on current, and a healthy unit.
struct Case {
  Context context;
  RawTrace trace;
  std::vector<ChannelHealth> health;
  std::optional<Curve> curve = Curve{};
  std::vector<DrawnPoint> drawn;
  std::vector<Metric> metrics{metric("fad_400", 8e-4, 1e-6), metric("current_600", 9, 0.05),
                              metric("seal_leak", 1e-9, 1e-10)};

  Case() {
    for (const RoleFacts& facts : kRoles) {
      ChannelFacts channel;
      channel.id = std::string(facts.name);
      channel.role = facts.role;
      context.bench.channels.push_back(channel);
      health.push_back({channel.id, HealthState::good, "", std::nullopt});
    }
    Limit current;
    current.metric = "current_600";
    current.upper = 10;
    context.limits.limits = {lower_limit("fad_400", 7e-4), current};
  }

  Grade graded() const { return grade(context, trace, {health, curve, metrics, drawn}); }

  void make_sick(const std::string& channel, HealthState state) {
    for (ChannelHealth& entry : health)
      if (entry.channel_id == channel) entry = {channel, state, "", 1000};
  }
  void set(const std::string& id, double value) {
    for (Metric& each : metrics)
      if (each.id == id) each.value = value;
  }
  Trip& trip(TripAccuses accuses, bool confirmed) {
    trace.trip = Trip{"supply_current_max",
                      "supply_current",
                      accuses,
                      12,
                      14.2,
                      true,
                      1000,
                      confirmed,
                      confirmed ? "case_temperature" : ""};
    return *trace.trip;
  }
};

std::vector<std::string> codes_of(const Grade& grade) {
  std::vector<std::string> codes;
  for (const Reason& reason : grade.reasons) codes.push_back(reason.code);
  return codes;
}

TEST(Verdict, EveryLimitHeldIsAPassThatNamesTheClosest) {
  const Grade grade = Case().graded();
  EXPECT_EQ(grade.verdict, Verdict::pass);
  EXPECT_THAT(codes_of(grade), ElementsAre("within_limits"));
  EXPECT_EQ(grade.reasons[0].subject, "current_600");  // 20 u inside, the flow 100 u
  EXPECT_EQ(grade.reasons[0].sentence, "All 2 limits are held; closest: current at 600\u00A0kPa.");
  EXPECT_THAT(grade.would_have_been, IsEmpty());
}

TEST(Verdict, ABrokenLimitIsAFail) {
  Case test;
  test.set("fad_400", 6e-4);
  const Grade grade = test.graded();
  EXPECT_EQ(grade.verdict, Verdict::fail);
  EXPECT_THAT(codes_of(grade), ElementsAre("below_lower"));
  EXPECT_EQ(grade.reasons[0].subject, "fad_400");
}

TEST(Verdict, TheLimitFurthestBeyondIsNamedFirst_G7) {
  Case test;
  test.set("fad_400", 6.9e-4);  // 10 u below
  test.set("current_600", 11);  // 20 u above
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("above_upper", "below_lower"));
}

TEST(Verdict, TooNearALimitIsUndecided) {
  Case test;
  test.set("fad_400", 7e-4);
  EXPECT_EQ(test.graded().verdict, Verdict::undecided);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("too_near_limit"));
}

TEST(Verdict, AFailOutranksAnUndecided) {
  Case test;
  test.set("fad_400", 7e-4);
  test.set("current_600", 11);
  EXPECT_EQ(test.graded().verdict, Verdict::fail);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("above_upper", "too_near_limit"));
}

TEST(Verdict, AMissingMetricThatTheLimitsNameIsUndecided) {
  Case test;
  test.metrics.erase(test.metrics.begin());
  EXPECT_EQ(test.graded().verdict, Verdict::undecided);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("metric_missing"));
  EXPECT_EQ(test.graded().reasons[0].subject, "fad_400");
}

TEST(Verdict, AMissingMetricWhoseChannelWasSickIsVoid) {
  Case test;
  test.metrics.erase(test.metrics.begin());
  test.make_sick("flow", HealthState::silent);
  EXPECT_EQ(test.graded().verdict, Verdict::void_);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("channel_silent"));
}

TEST(Verdict, EveryStateOfSicknessOfAGradedChannelIsVoid) {
  for (int state = 1; state <= static_cast<int>(HealthState::time_sick); ++state) {
    Case test;
    test.make_sick("speed", static_cast<HealthState>(state));
    const Grade grade = test.graded();
    EXPECT_EQ(grade.verdict, Verdict::void_) << state;
    EXPECT_THAT(codes_of(grade), ElementsAre(code_of(static_cast<HealthState>(state))));
    EXPECT_EQ(grade.reasons[0].subject, "speed");
  }
}

TEST(Verdict, ASickChannelThatNoGradedMetricRestsOnChangesNothing) {
  Case test;
  test.make_sick("seal_pressure", HealthState::stuck);  // seal_leak has no limit here
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
  test.context.limits.limits.push_back(lower_limit("seal_leak", 0));
  EXPECT_EQ(test.graded().verdict, Verdict::void_);
}

TEST(Verdict, ASickChannelUnderAWarnLimitChangesNothing_G5) {
  Case test;
  test.make_sick("seal_pressure", HealthState::stuck);
  test.context.limits.limits.push_back(lower_limit("seal_leak", 0));
  test.context.limits.limits.back().severity = Severity::warn;
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
}

TEST(Verdict, AWarnLimitNeverChangesTheVerdictButIsListed_G5) {
  for (const double bound : {9e-4, 8e-4, 1e-4}) {  // broken, too near, held
    Case test;
    test.context.limits.limits.push_back(lower_limit("fad_400", bound));
    test.context.limits.limits.back().severity = Severity::warn;
    const Grade grade = test.graded();
    EXPECT_EQ(grade.verdict, Verdict::pass);
    ASSERT_EQ(grade.limits.size(), 3u);
    EXPECT_TRUE(grade.limits[2].warn);
  }
}

TEST(Verdict, AMissingMetricUnderAWarnLimitChangesNothing_G5) {
  Case test;
  test.context.limits.limits.push_back(lower_limit("fad_800", 1e-4));
  test.context.limits.limits.back().severity = Severity::warn;
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
}

TEST(Verdict, WithoutARejectLimitNothingPasses) {
  Case test;
  test.context.limits.limits.clear();
  EXPECT_EQ(test.graded().verdict, Verdict::undecided);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("no_limits"));
}

TEST(Verdict, ABrokenOffTestIsVoidWhateverItMeasured) {
  for (int cause = 1; cause <= static_cast<int>(BreakOff::ended_by_service); ++cause) {
    Case test;
    test.trace.break_off = static_cast<BreakOff>(cause);
    const Grade grade = test.graded();
    EXPECT_EQ(grade.verdict, Verdict::void_);
    EXPECT_THAT(codes_of(grade), ElementsAre(code_of(static_cast<BreakOff>(cause))));
    EXPECT_THAT(grade.reasons[0].sentence, HasSubstr("The unit was not judged."));
    EXPECT_THAT(grade.would_have_been, IsEmpty());
  }
}

TEST(Verdict, AStopCannotLaunderABadUnit_G8) {
  Case test;
  test.trace.break_off = BreakOff::stopped_by_person;
  test.set("fad_400", 6e-4);
  test.metrics.erase(test.metrics.begin() + 1);  // the current was not measured any more
  const Grade grade = test.graded();
  EXPECT_EQ(grade.verdict, Verdict::void_);
  EXPECT_THAT(codes_of(grade), ElementsAre("broken_off_stopped_by_person"));
  EXPECT_EQ(grade.would_have_been, "would have failed: flow at 400\u00A0kPa");
}

TEST(Verdict, ASickChannelAccusesNobody_G8) {
  Case test;
  test.set("fad_400", 6e-4);
  test.set("current_600", 11);
  test.make_sick("flow", HealthState::out_of_range);
  EXPECT_EQ(test.graded().would_have_been, "would have failed: current at 600\u00A0kPa");
}

TEST(Verdict, ABreakOffIsNamedBeforeTheSickChannel_G7) {
  Case test;
  test.trace.break_off = BreakOff::silence;
  test.trace.break_off_detail = "flow was silent for 0.4 s during hold_400";
  test.make_sick("flow", HealthState::silent);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("broken_off_silence", "channel_silent"));
  EXPECT_EQ(test.graded().reasons[0].sentence,
            "Flow was silent for 0.4 s during hold_400. The unit was not judged.");
}

TEST(Trips, AConfirmedTripThatAccusesTheUnitIsAFail) {
  Case test;
  test.trip(TripAccuses::unit, true);
  test.metrics.clear();  // the test ended there
  const Grade grade = test.graded();
  EXPECT_EQ(grade.verdict, Verdict::fail);
  EXPECT_THAT(codes_of(grade), ElementsAre("trip_unit"));
  EXPECT_EQ(grade.reasons[0].subject, "supply_current");
  EXPECT_EQ(grade.reasons[0].sentence,
            "Supply current was 14.2\u00A0A, above its trip limit of 12.0\u00A0A; "
            "case temperature agrees.");
}

TEST(Trips, AnUnconfirmedTripIsVoid) {
  Case test;
  test.trip(TripAccuses::unit, false);
  EXPECT_EQ(test.graded().verdict, Verdict::void_);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("trip_unconfirmed"));
}

TEST(Trips, ATripThatAccusesTheBenchIsVoidEvenIfConfirmed) {
  Case test;
  test.trip(TripAccuses::bench, true);
  EXPECT_EQ(test.graded().verdict, Verdict::void_);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("trip_bench"));
}

TEST(Trips, AConfirmedTripOnAChannelThatTheTraceShowsSickIsVoid) {
  for (const char* channel : {"supply_current", "case_temperature"}) {
    Case test;
    test.trip(TripAccuses::unit, true);
    test.make_sick(channel, HealthState::too_fast);
    EXPECT_EQ(test.graded().verdict, Verdict::void_) << channel;
    EXPECT_EQ(codes_of(test.graded()).front(), "trip_unconfirmed") << channel;
  }
}

TEST(Trips, AUnitThatStandsStillMayFailAlthoughItsSpeedNeverMoves) {
  Case test;
  Trip& trip = test.trip(TripAccuses::unit, true);
  trip = Trip{"no_start", "speed", TripAccuses::unit, 5, 0, false, 1000, true, "supply_current"};
  test.metrics.clear();
  test.make_sick("speed", HealthState::stuck);
  test.make_sick("flow", HealthState::stuck);
  EXPECT_EQ(test.graded().verdict, Verdict::fail);
  EXPECT_EQ(test.graded().reasons[0].sentence,
            "Speed was 0\u00A0r/min, below its trip limit of 300\u00A0r/min; "
            "supply current agrees.");
}

TEST(Trips, BesideAConfirmedTripASilentGradedChannelIsStillVoidAndSaysWhatWasSeen_G8) {
  Case test;
  test.trip(TripAccuses::unit, true);
  test.metrics.clear();
  test.make_sick("flow", HealthState::silent);
  const Grade grade = test.graded();
  EXPECT_EQ(grade.verdict, Verdict::void_);
  EXPECT_EQ(grade.would_have_been, "would have failed: supply current");
}

TEST(Verdict, AContradictedCurveIsUndecidedAndAReason) {
  Case test;
  test.curve->contradicted = test.curve->refuted = true;
  EXPECT_EQ(test.graded().verdict, Verdict::undecided);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("curve_contradicted"));
}

TEST(Verdict, ACurveThatScattersMoreThanUsualPassesWithAWord) {
  Case test;
  test.curve->contradicted = true;
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("within_limits", "curve_doubtful"));
}

TEST(Verdict, AContradictedCurveThatNoGradedMetricRestsOnChangesNothing) {
  Case test;
  test.curve->contradicted = test.curve->refuted = true;
  test.context.limits.limits.erase(test.context.limits.limits.begin());
  EXPECT_EQ(test.graded().verdict, Verdict::pass);
}

TEST(Verdict, AContradictedCurveStandsBesideAFail) {
  Case test;
  test.curve->contradicted = test.curve->refuted = true;
  test.set("current_600", 11);
  EXPECT_EQ(test.graded().verdict, Verdict::fail);
  EXPECT_THAT(codes_of(test.graded()), ElementsAre("above_upper", "curve_contradicted"));
}

TEST(Verdict, EveryCodeItEverGivesIsListed) {
  const auto listed = [](const std::string& code) {
    return std::any_of(kReasonCodes.begin(), kReasonCodes.end(),
                       [&](const ReasonCode& entry) { return entry.code == code; });
  };
  Case test;
  test.trace.break_off = BreakOff::lost_link;
  test.trip(TripAccuses::unit, false);
  test.make_sick("flow", HealthState::no_value);
  for (const std::string& code : codes_of(test.graded())) EXPECT_TRUE(listed(code)) << code;
}

}  // namespace
}  // namespace endgate::analysis
