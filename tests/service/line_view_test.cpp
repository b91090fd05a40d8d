#include "daemon/views/line_view.h"

#include <gmock/gmock.h>

#include "daemon/service/json_write.h"
#include "tests/support/sample_lines.h"

namespace endgate::daemon {
namespace {

using reports::LineView;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

LineView view_of(const std::string& look) { return line_view_of(test::sample_line(look)); }

TEST(LineView, SaysEachStateWithItsWordNextStepAndTitle) {
  struct Expected {
    const char *look, *word, *next;
    bool act;
  };
  const Expected all[] = {
      {"free", "FREE", "Scan the serial of the unit on the bench.", true},
      {"ready", "READY", "Close the cover. Press Start (Enter) or scan Start.", true},
      {"again", "AGAIN?", "Choose a reason", true},
      {"refused", "REFUSED", "Scan the serial on the rating plate.", true},
      {"running", "RUNNING", "Holding at 400 kPa, step 5 of 10", false},
      {"ignored", "RUNNING", "Holding at 400 kPa, step 5 of 10", false},
      {"lost", "NO CONTACT", "Press the stop button on the bench now.", true},
      {"storing", "STORING", "Keeping the record. The verdict follows.", false},
      {"pass", "PASS", "Take the unit off. Scan the next one.", true},
      {"fail", "FAIL", "Put the unit into the reject bay. Scan the next one.", true},
      {"undecided", "UNDECIDED", "Put the unit aside", true},
      {"void", "VOID", "Call maintenance. Leave the unit on the bench.", true},
      {"stopped", "VOID", "Scan the serial again, or scan another one.", true},
      {"out-of-use", "OUT OF USE", "Call maintenance.", true},
      {"storage", "OUT OF USE", "Call plant IT.", true},
      {"press-stop", "PRESS STOP", "Press the stop button on the bench now.", true},
  };
  for (const Expected& expected : all) {
    const LineView view = view_of(expected.look);
    EXPECT_EQ(view.word, expected.word) << expected.look;
    EXPECT_THAT(view.next, HasSubstr(expected.next)) << expected.look;
    EXPECT_EQ(view.act, expected.act) << expected.look;
    EXPECT_EQ(view.next_caption, expected.act ? "Next" : "Nothing to do") << expected.look;
    EXPECT_THAT(view.title, HasSubstr(view.word)) << expected.look;
    EXPECT_THAT(view.status, HasSubstr(view.word)) << expected.look;
    EXPECT_LE(view.word.size(), 11U) << "head words have at most 11 letters";
  }
}

TEST(LineView, ALabTrialSaysWhereItIsAndSendsNoUnitToTheRejectBay) {
  LineState line = test::sample_line("running");
  line.purpose = "lab";
  line.message = "Lab trial: Half an hour on, half an hour off. Turn 2.";
  EXPECT_EQ(line_view_of(line).sentence, line.message);
  line = test::sample_line("fail");
  line.purpose = "lab";
  EXPECT_EQ(line_view_of(line).next, "Take the unit off. Its page tells the result of the trial.");
}

TEST(LineView, ALabTrialWarnsOfTheRestAndShowsTheCaseInsteadOfTheVoltage) {
  LineState line = test::sample_line("running");
  line.purpose = "lab";
  line.so_far.clear();
  line.expected_s = 43200;
  line.seconds_left = 43154;
  line.live.values.push_back({analysis::Role::case_temperature, 333.15, 0.02, 0});
  EXPECT_THAT(line_view_of(line).paragraphs, Not(Contains(HasSubstr("by itself"))))
      << "the closing vent: no motor starts any more";
  line.live.step->motor_will_run = true;
  const LineView view = line_view_of(line);
  EXPECT_THAT(view.paragraphs, Contains("The motor may start again by itself. Stay clear until "
                                        "the trial is over."));
  EXPECT_EQ(view.live[3].name + " " + view.live[3].value, "Case 60");
  EXPECT_TRUE(view.trial) << "no empty chart";
  EXPECT_THAT(view_json(view), HasSubstr("\"12\"")) << "the ring says hours";
  EXPECT_THAT(view_json(view), HasSubstr("\"h left\""));
  EXPECT_FALSE(view_of("running").trial);
}

TEST(LineView, ALostBenchIsSaidInEveryPhase) {
  for (const char* look :
       {"ready", "again", "refused", "storing", "pass", "fail", "undecided", "stopped"}) {
    LineState line = test::sample_line(look);
    line.live.condition = BenchCondition::connecting;
    line.live.condition_code = "B-201";
    line.live.condition_text = "No contact with bench north.";
    const LineView view = line_view_of(line);
    EXPECT_EQ(view.note, "The bench cannot test now. B-201") << look;
    EXPECT_THAT(view.paragraphs, Contains("No contact with bench north.")) << look;
    EXPECT_EQ(view.word, view_of(look).word) << "a kept verdict stays";
    EXPECT_THAT(view.next, Not(HasSubstr("Scan the next one"))) << look;
    EXPECT_THAT(view.next, Not(HasSubstr("can the serial again"))) << look;
  }
}

TEST(LineView, ALostTestClaimsNothingOfTheMotor) {
  const LineView view = view_of("lost");
  EXPECT_EQ(view.look, "no-contact");
  EXPECT_EQ(view.sound, "alarm");
  EXPECT_THAT(view.note, HasSubstr("not even whether its motor is off"));
}

TEST(LineView, DoesNotAskForWhatIsPutRightAlready) {
  LineState line = test::sample_line("stopped");
  line.result->reasons.front().code = "broken_off_cover_open";
  line.live.interlocks.cover_closed = false;
  EXPECT_EQ(line_view_of(line).next, "Close the cover. Scan the serial again.");
  line.live.interlocks.cover_closed = true;
  EXPECT_EQ(line_view_of(line).next, "Scan the serial again, or scan another one.");
  line = test::sample_line("ready");
  line.live.interlocks.cover_closed = true;
  EXPECT_EQ(line_view_of(line).next, "Press Start (Enter) or scan Start.");
}

TEST(LineView, AStandingDoesNotRepeatWhatDecidedTheTest) {
  LineState line = test::sample_line("fail");
  line.result->standing_reason = "Attempt 1 failed: " + line.result->reasons.front().sentence;
  EXPECT_THAT(line_view_of(line).paragraphs, Contains("Standing reject: Attempt 1 failed."));
}

// 412 kPa behind the coupling: whatever the verdict, nobody is sent to take the unit off.
TEST(LineView, AUnitThatMayBeUnderPressureIsNotTouched) {
  for (const char* look : {"free", "ready", "again", "refused", "storing", "pass", "fail",
                           "undecided", "void", "stopped", "out-of-use"}) {
    LineState line = test::sample_line(look);
    line.live.may_be_under_pressure = true;
    line.live.values[0].value_si = 412e3;
    const LineView view = line_view_of(line);
    EXPECT_EQ(view.next, "Do not touch the unit or its hoses. Call maintenance.") << look;
    EXPECT_TRUE(view.act) << look;
    EXPECT_TRUE(view.may_clear) << look;
    EXPECT_EQ(view.sound, "alarm") << look;
    EXPECT_EQ(view.word, view_of(look).word) << "a kept verdict stays";
    ASSERT_FALSE(view.paragraphs.empty()) << look;
    EXPECT_EQ(view.paragraphs.front(),
              "The unit may be under pressure: 412\u00A0kPa gauge are read.");
  }
}

TEST(LineView, APressureThatIsNotReadIsNoPressureThatIsGone) {
  LineState line = test::sample_line("pass");
  line.live.may_be_under_pressure = true;
  line.live.values[0].value_si.reset();
  EXPECT_THAT(line_view_of(line).paragraphs,
              Contains("The unit may be under pressure: its pressure is not read."));
  line = test::sample_line("press-stop");
  line.live.may_be_under_pressure = true;
  EXPECT_EQ(line_view_of(line).next, "Press the stop button on the bench now.");
  EXPECT_THAT(line_view_of(line).paragraphs, Contains(HasSubstr("may be under pressure")));
}

TEST(LineView, SaysThatABenchIsBeingMadeSafe) {
  LineState line = test::sample_line("running");
  line.live.making_safe = true;
  line.purpose = "lab";
  line.message = "Lab trial: Half an hour on, half an hour off. Turn 2.";
  line.live.step->motor_will_run = true;
  const LineView view = line_view_of(line);
  EXPECT_EQ(view.word, "STOPPING");
  EXPECT_EQ(view.next, "Motor off was sent, the unit is being vented. Do not touch it yet.");
  EXPECT_EQ(view.sentence, "The test is ended and the bench made safe");
  EXPECT_THAT(view.paragraphs, Not(Contains(HasSubstr("motor"))));
}

TEST(LineView, WhatIsDueOnTheBenchIsSaidUntilTheStart) {
  for (const char* look : {"ready", "again", "refused"}) {
    LineState line = test::sample_line(look);
    line.notices = {"The calibration of flow was valid until 2020-01-31.", line.message};
    const LineView view = line_view_of(line);
    EXPECT_THAT(view.paragraphs, Contains(HasSubstr("2020-01-31"))) << look;
    EXPECT_EQ(view.sentence, view_of(look).sentence) << look;
    EXPECT_THAT(view.paragraphs, Not(Contains(view.sentence))) << "what refuses is said once";
  }
}

// Never more than was looked at: delivery alone, where a limit stands, without correction.
TEST(LineView, SaysWhatWasHeldAgainstALimitWhileTheTestRuns) {
  LineState line = test::sample_line("running");
  EXPECT_EQ(line_view_of(line).sentence, "Delivery so far inside its limits at 3 pressures");
  line.so_far.resize(1);
  EXPECT_EQ(line_view_of(line).sentence, "Delivery so far inside its limits at 1 pressure");
  line.so_far = {{300e3, 52.0 / 60000}};  // no limit near
  EXPECT_EQ(line_view_of(line).sentence, "The curve grows with each pressure");
  line.so_far = {{400e3, 49.8 / 60000}};
  line.band = {{400e3, std::nullopt, std::nullopt}};
  EXPECT_EQ(line_view_of(line).sentence, "The curve grows with each pressure");
}

// What is not corrected yet may lie on either side: no alarm and no promise so near a limit.
TEST(LineView, IsSilentAboutALimitThatIsNearerThanWhatIsNotCorrectedYet) {
  LineState line = test::sample_line("running");
  const auto said = [&](double l_min) {
    line.so_far[2].flow_m3_s = l_min / 60000;  // at 400 kPa: from 44.0 to 56.0 L/min
    return line_view_of(line).sentence;
  };
  for (const double near : {43.9, 44.1, 55.9, 56.1})
    EXPECT_EQ(said(near), "Close to its limit at 400\u00A0kPa; the test goes on") << near;
  EXPECT_EQ(said(36.0), "Below its limit at 400\u00A0kPa; the test goes on");
  EXPECT_EQ(said(64.0), "Above its limit at 400\u00A0kPa; the test goes on");
}

TEST(LineView, AVoidSaysWhatTheCompletedPartShowed) {
  LineState line = test::sample_line("stopped");
  line.result->would_have_been = "would have failed: flow at 400\u00A0kPa";
  const LineView view = line_view_of(line);
  ASSERT_FALSE(view.paragraphs.empty());
  EXPECT_EQ(view.paragraphs.front(), "What was completed would have failed: flow at 400\u00A0kPa.");
  EXPECT_EQ(view.next, "Scan the serial again: this unit is not judged yet.")
      << "a stop is no way past a bad unit";
}

TEST(LineView, AVoidSaysWhichSamplesAreKept) {
  EXPECT_THAT(view_of("stopped").paragraphs,
              Contains(HasSubstr("The samples up to then are kept.")));
  LineState line = test::sample_line("void");  // a sick channel, the whole test
  EXPECT_THAT(line_view_of(line).paragraphs, Contains(HasSubstr("Its samples are kept.")));
  line = test::sample_line("stopped");
  line.result->kept_samples = false;  // stopped before it began
  EXPECT_THAT(line_view_of(line).paragraphs, Contains(HasSubstr("No sample was taken.")));
}

TEST(LineView, CoversEveryPhase) {
  for (int phase = 0; phase <= static_cast<int>(LinePhase::press_stop); ++phase) {
    LineState line = test::sample_line("pass");
    line.phase = static_cast<LinePhase>(phase);
    const LineView view = line_view_of(line);
    EXPECT_FALSE(view.word.empty()) << phase;
    EXPECT_FALSE(view.next.empty()) << phase;
    EXPECT_FALSE(view.sign.tag.empty()) << phase;
  }
}

TEST(LineView, TitleOfAVerdictCarriesSerialAndBench) {
  EXPECT_EQ(view_of("pass").title, "PASS QH2648-0117-K, north");
}

TEST(LineView, HasNoTraceOfAPassBeforeTheRecordIsKept) {
  const LineState storing = test::sample_line("storing");
  ASSERT_EQ(storing.result->verdict, "pass");
  const std::string sent = view_json(line_view_of(storing)) + picture_json(line_view_of(storing));
  for (const char* trace : {"PASS", "\"pass\"", "sign-pass", "Take the unit off", "release"})
    EXPECT_THAT(sent, Not(HasSubstr(trace)));
}

TEST(LineView, AVerdictWithoutAResultIsNeverAPass) {
  LineState line = test::sample_line("pass");
  line.result.reset();
  EXPECT_EQ(line_view_of(line).word, "VOID");
}

TEST(LineView, AFailNamesTheLimitThatDecidesAndByHowMuch) {
  const LineView view = view_of("fail");
  EXPECT_EQ(view.sentence, "Flow at 600\u00A0kPa is 4.1\u00A0L/min below its limit");
  ASSERT_EQ(view.limits.size(), 3U);
  EXPECT_EQ(view.limits[0].name, "Free-air delivery, 600 kPa");
  EXPECT_EQ(view.limits[0].value, "35.4\u00A0±\u00A00.6\u00A0L/min");
  EXPECT_EQ(view.limits[0].limit, "at least 39.5");
}

TEST(LineView, AFailOfSeveralLimitsSaysHowManyMore) {
  LineState line = test::sample_line("fail");
  line.result->reasons.push_back({"above_upper", "current_600", "Current at 600 kPa is high."});
  line.result->reasons.push_back({"too_near_limit", "fad_0", "Flow at 0 kPa is too near."});
  EXPECT_EQ(line_view_of(line).sentence,
            "Flow at 600\u00A0kPa is 4.1\u00A0L/min below its limit, and 1 more limit is broken");
  line.result->reasons.push_back({"below_lower", "fad_800", "Flow at 800 kPa is low."});
  EXPECT_THAT(line_view_of(line).sentence, HasSubstr(", and 2 more limits are broken"));
}

TEST(LineView, AnUndecidedSaysThatItIsTooNear) {
  EXPECT_EQ(view_of("undecided").sentence, "Flow at 400\u00A0kPa is too near its limit to say");
}

TEST(LineView, APassSaysHowManyLimitsHeldAndWhichIsClosest) {
  EXPECT_THAT(view_of("pass").sentence, HasSubstr("All 7 limits held. Closest: "));
}

TEST(LineView, StandingIsSaidWithTheVerdictAndItsReasonWhenTheUnitMayNotShip) {
  EXPECT_EQ(view_of("pass").standing, "Standing: release");
  EXPECT_EQ(view_of("fail").standing, "Standing: reject");
  EXPECT_THAT(view_of("fail").paragraphs, Contains(HasSubstr("Standing reject: ")));
  EXPECT_EQ(view_of("running").standing, "");
}

TEST(LineView, RingsThePointThatDecides) {
  EXPECT_THAT(picture_json(view_of("fail")), HasSubstr("\"class\":\"ring\""));
  EXPECT_THAT(picture_json(view_of("undecided")), HasSubstr("\"class\":\"ring\""));
  EXPECT_THAT(picture_json(view_of("pass")), Not(HasSubstr("\"class\":\"ring\"")));
}

TEST(LineView, AMissingChannelIsADashWithItsReasonAndNeverANumber) {
  const LineView view = view_of("void");
  EXPECT_EQ(view.live[1].name, "Flow");
  EXPECT_EQ(view.live[1].value, "—");
  EXPECT_EQ(view.live[1].note, "no data");
}

TEST(LineView, AChannelThatTheBenchDoesNotHaveIsADash) {
  LineState line = test::sample_line("free");
  line.live.values.clear();
  for (const reports::LiveCell& cell : line_view_of(line).live) EXPECT_EQ(cell.value, "—");
}

TEST(LineView, LiveValuesAreInTheUnitsOfTheTrade) {
  const LineView view = view_of("running");
  const auto said = [&](std::size_t i) { return view.live[i].value + " " + view.live[i].unit; };
  EXPECT_EQ(said(0), "402.1 kPa gauge");
  EXPECT_EQ(said(1), "49.8 L/min");
  EXPECT_EQ(said(4), "2\u00A0874 r/min");
  EXPECT_EQ(said(5), "71 °C");
}

TEST(LineView, AnIgnoredScanIsSaidAndChangesNothingElse) {
  const LineView running = view_of("running"), ignored = view_of("ignored");
  EXPECT_THAT(ignored.paragraphs, Contains("Scan ignored: QH2648-0118-C. The running test was not "
                                           "touched. Scan QH2648-0118-C again when it has ended."));
  EXPECT_EQ(ignored.note, "") << "nothing to do now";
  EXPECT_EQ(running.word, ignored.word);
  EXPECT_EQ(running.next, ignored.next);
}

TEST(LineView, OffersAStartOnlyWhereOneIsPossible) {
  for (const char* look : test::kLooks) {
    const bool may = std::string(look) == "ready" || std::string(look) == "again";
    EXPECT_EQ(view_of(look).may_start, may) << look;
  }
}

TEST(LineView, AsksForAReasonWithNumberedChoices) {
  const LineView view = view_of("again");
  ASSERT_EQ(view.choices.size(), 5U);
  EXPECT_EQ(view.choices[0].key, "1");
  EXPECT_EQ(view.choices[0].name, "Customer return");
}

// The scan was good; it is the bench that judges nothing.
TEST(LineView, ALockedBenchIsOutOfUseAndNoScanIsRefused) {
  LineState line = test::sample_line("refused");
  line.serial = "QH2648-0117-K";
  line.code = "B-310";
  line.message =
      "Reference unit R1 on bench north reads 7.2 % low. Bench north judges nothing "
      "until a person closes the alarm with cause and action.";
  const LineView view = line_view_of(line);
  EXPECT_EQ(view.look, "out-of-use");
  EXPECT_EQ(view.word, "OUT OF USE");
  EXPECT_EQ(view.next, "Call maintenance.");
  EXPECT_EQ(view.note, "Code B-310");
  EXPECT_EQ(view.sentence, line.message);
  EXPECT_THAT(view.paragraphs,
              Contains("QH2648-0117-K was not tested. Scan it again once this is "
                       "put right. A reference unit may be tested all the while."));
  EXPECT_FALSE(view.may_clear) << "an alarm is closed with cause and action";
  EXPECT_EQ(view_json(view).find("sign-refused"), std::string::npos);
}

TEST(LineView, ABrokenStepIsMarked) {
  const LineView view = view_of("void");
  EXPECT_EQ(view.rail[4].state, "broken");
  EXPECT_EQ(view.rail[4].name, "400 kPa");
}

TEST(LineView, DoesNotClaimThatTheMotorIsOffUnlessItWasReadBack) {
  LineState line = test::sample_line("void");
  EXPECT_THAT(line_view_of(line).paragraphs, Contains(HasSubstr("The motor is off, read back.")));
  line.live.interlocks.motor_relay_closed.reset();
  EXPECT_THAT(line_view_of(line).paragraphs, Not(Contains(HasSubstr("motor is off"))));
}

}  // namespace
}  // namespace endgate::daemon
