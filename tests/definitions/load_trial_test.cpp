#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/definitions/trial_steps.h"
#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

const std::string kTrialFile = "trials/half-hour-duty.toml";

std::string trial_text() { return scenario_text(kTrialFile); }

std::vector<std::string> trial_errors_with(std::string_view from, std::string_view to) {
  return texts_of(load_trial(with(trial_text(), from, to), kTrialFile));
}

TEST(LoadTrial, ReadsStepsLoopAndEnd) {
  const Loaded<TrialDefinition> loaded = load_trial(trial_text(), kTrialFile);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const auto& trial = std::get<TrialDefinition>(loaded);
  ASSERT_EQ(trial.sequence.size(), 5U);
  EXPECT_EQ(trial.sequence[2].kind, analysis::StepKind::warm_up);
  EXPECT_EQ(trial.sequence[3].kind, analysis::StepKind::vent);
  ASSERT_EQ(trial.plan.loops.size(), 1U);
  EXPECT_EQ(trial.plan.loops[0].first, 1U);
  EXPECT_EQ(trial.plan.loops[0].last, 3U);
  ASSERT_EQ(trial.plan.ends.size(), 1U);
  EXPECT_EQ(trial.plan.ends[0].step, 2U);
  EXPECT_TRUE(trial.plan.ends[0].ends_trial);
  EXPECT_TRUE(trial.plan.long_run);
  EXPECT_NEAR(trial.expected_s, 12 * 3600 + 2, 1e-6);
}

TEST(LoadTrial, TellsLineKeyAndWhatWasExpected) {
  const std::string text = with(trial_text(), "to = \"off\"", "to = \"of\"");
  EXPECT_THAT(texts_of(load_trial(text, kTrialFile)),
              ElementsAre(kTrialFile + ":" + place_of(text, "\"of\"") +
                          " loop[1].to: expected the id of a step, found \"of\""));
}

TEST(LoadTrial, AMisspelledKeyNamesTheNearest) {
  EXPECT_THAT(trial_errors_with("times = 12", "timse = 12"),
              Contains(HasSubstr("did you mean \"times\"?")));
}

TEST(LoadTrial, TheMotorIsOffBeforeAStartAndRunsBeforeARun) {
  EXPECT_THAT(trial_errors_with("kind = \"start\"", "kind = \"rest\""),
              Contains(HasSubstr("a start before \"on\": the motor is off there")));
  EXPECT_THAT(trial_errors_with("from = \"start\"\nto = \"off\"", "from = \"start\"\nto = \"on\""),
              Contains(HasSubstr("end it with a rest, or begin it behind the start")));
}

TEST(LoadTrial, ZeroIsFirstAndVentLastAndNeitherIsRepeated) {
  EXPECT_THAT(trial_errors_with("kind = \"zero\"", "kind = \"rest\""),
              Contains(HasSubstr("\"zero\" first and one of kind \"vent\" last")));
  EXPECT_THAT(trial_errors_with("from = \"start\"", "from = \"zero\""),
              ElementsAre(HasSubstr("those two are not repeated")));
}

TEST(LoadTrial, LoopsStandOneAfterTheOther) {
  const std::string two = trial_text() + "\n[[loop]]\nfrom = \"on\"\nto = \"on\"\ntimes = 2\n";
  EXPECT_THAT(texts_of(load_trial(two, kTrialFile)), Contains(HasSubstr("none inside another")));
}

TEST(LoadTrial, TheWholeLimitLeavesRoomForAllTurns) {
  EXPECT_THAT(trial_errors_with("times = 12", "times = 13"),
              ElementsAre(HasSubstr("whole_limit_s: expected more than the 46802 s")));
  EXPECT_THAT(trial_errors_with("times = 12", "times = 13\nfor_s = 36000"), IsEmpty());
}

TEST(LoadTrial, WhatIsKeptOfItsStepsIsBounded) {
  std::string text = trial_text();
  for (const char* duration : {"duration_s = 1799.5", "duration_s = 1800"})
    text = with(text, duration, "duration_s = 0.1");
  EXPECT_THAT(texts_of(load_trial(with(text, "times = 12", "times = 9000"), kTrialFile)),
              ElementsAre(HasSubstr("loop: expected at most 20000 steps in all")));
}

TEST(LoadTrial, ACutOutSitsOnHeadOrCaseAboveTheRoom) {
  EXPECT_THAT(trial_errors_with("opens_at_k = 358.15", "opens_at_k = 290"),
              ElementsAre(HasSubstr("cut_out.opens_at_k: expected a temperature above room_k")));
  EXPECT_THAT(trial_errors_with("[cut_out]\nrole = \"case_temperature\"\nunit = \"K\"",
                                "[cut_out]\nrole = \"flow\"\nunit = \"m3/s\""),
              ElementsAre(HasSubstr("where a cut-out sits")));
}

TEST(LoadTrial, AnEndNeedsOneBound) {
  EXPECT_THAT(trial_errors_with("above_si = 358.15", "above_si = 358.15\nbelow_si = 300"),
              ElementsAre(HasSubstr("either above_si or below_si")));
}

TEST(LoadTrial, ATrialIsATextOfItsOwnKind) {
  EXPECT_EQ(kind_in(trial_text()), DefinitionKind::trial);
  EXPECT_EQ(std::get<std::string>(load_subject(DefinitionKind::trial, trial_text(), kTrialFile)),
            "half-hour-duty");
}

}  // namespace
}  // namespace endgate::daemon
