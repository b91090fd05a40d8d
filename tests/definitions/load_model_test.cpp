#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

const std::string kModelFile = "models/P1-60-12.toml";

std::string model_text() { return scenario_text(kModelFile); }

std::vector<std::string> model_errors_with(std::string_view from, std::string_view to) {
  return texts_of(load_model(with(model_text(), from, to), kModelFile));
}

TEST(LoadModel, ReadsNominalDataAndSequence) {
  const Loaded<ModelDefinition> loaded = load_model(model_text(), kModelFile);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const auto& model = std::get<ModelDefinition>(loaded);
  EXPECT_EQ(model.id, "P1-60-12");
  EXPECT_EQ(model.nominal.cylinders, 1);
  // Area of a 39 mm bore times a stroke of 16.2 mm.
  EXPECT_NEAR(model.nominal.swept_volume_m3, 1.9352368e-5, 1e-12);
  EXPECT_EQ(model.reference.supply_voltage_v, 13.5);
  const StepDefinition& ramp = model.sequence.at(4);
  EXPECT_EQ(ramp.kind, analysis::StepKind::ramp);
  EXPECT_GT(ramp.rise_pa_s, 0);
  const StepDefinition& hold = model.sequence.at(5);
  EXPECT_EQ(hold.id, "hold_600");
  EXPECT_EQ(hold.kind, analysis::StepKind::hold);
  EXPECT_EQ(hold.target_gauge_pa, 600000);
  EXPECT_GT(model.nominal.moment_of_inertia_kg_m2, 0);
  EXPECT_GE(hold.duration_s, hold.hold_min_s);
  EXPECT_EQ(model.sequence.front().kind, analysis::StepKind::zero);
  EXPECT_EQ(model.sequence.back().kind, analysis::StepKind::vent);
}

TEST(LoadModel, AServicePressureAndItsMetricGoTogether) {
  const std::string metrics = "\"back_leak\", \"seal_leak\",";
  const std::string asked = with(model_text(), metrics, metrics + " \"back_leak_service\",");
  const std::string pressure = "\n[service]\nback_leak_gauge_pa = 800000\n\n[nominal]\n";
  EXPECT_THAT(texts_of(load_model(asked, kModelFile)),
              ElementsAre(HasSubstr("back_leak_gauge_pa in a table [service]")));
  EXPECT_THAT(model_errors_with("\n[nominal]\n", pressure),
              ElementsAre(HasSubstr("which [service] names a pressure for")));
  const Loaded<ModelDefinition> both =
      load_model(with(asked, "\n[nominal]\n", pressure), kModelFile);
  ASSERT_THAT(texts_of(both), IsEmpty());
  EXPECT_EQ(std::get<ModelDefinition>(both).service.back_leak_gauge_pa, 800000);
}

TEST(LoadModel, StepsThatNameNoReceiverTakeThatOfTheTest) {
  std::string text = model_text();
  for (std::size_t at; (at = text.find("\"small\"")) != std::string::npos;)
    text.replace(at, 7, "\"large\"");
  const auto model = std::get<ModelDefinition>(load_model(text, kModelFile));
  for (const StepDefinition& step : model.sequence) EXPECT_EQ(step.receiver, "large") << step.id;
}

TEST(LoadModel, AMisspelledKeyInATableNamesTheNearest) {
  EXPECT_THAT(model_errors_with("clearance_ratio", "clearence_ratio"),
              Contains(HasSubstr("nominal.clearence_ratio: expected no key of this name here; did "
                                 "you mean \"clearance_ratio\"?")));
}

TEST(LoadModel, ASerialPatternMustBeARegularExpression) {
  EXPECT_THAT(model_errors_with("serial_pattern = \"QH[0-9]", "serial_pattern = \"QH[0-9"),
              ElementsAre(HasSubstr("serial_pattern: expected an ECMAScript regular expression")));
}

TEST(LoadModel, ASerialCannotLookLikeACommandLabel) {
  EXPECT_THAT(model_errors_with("serial_pattern = \"QH", "serial_pattern = \"EG-"),
              ElementsAre(HasSubstr("serials that do not begin with EG-")));
  EXPECT_THAT(model_errors_with("serial_pattern = \"QH", "serial_pattern = \"^EG-"),
              ElementsAre(HasSubstr("serials that do not begin with EG-")));
}

TEST(LoadModel, StepsComeInAnOrderThatCanBeRun) {
  EXPECT_THAT(model_errors_with("kind = \"warm_up\"", "kind = \"vent\""),
              Contains(HasSubstr("exactly one step of kind \"vent\"")));
  const std::string holds_first = with(model_text(), "id = \"seal_leak\"\nkind = \"seal_leak\"",
                                       "id = \"late\"\nhold_min_s = 4\nkind = \"hold\"");
  EXPECT_THAT(texts_of(load_model(holds_first, kModelFile)),
              Contains(HasSubstr("\"late\" comes after \"back_leak\"")));
}

// A record may hold them; no bench of this version can drive them.
TEST(LoadModel, AStepThatNoBenchCanDriveIsRefused) {
  for (const std::string kind : {"coast_down", "cut_out"})
    EXPECT_THAT(model_errors_with("kind = \"warm_up\"", "kind = \"" + kind + "\""),
                Contains(testing::AllOf(HasSubstr("step[3].kind"), HasSubstr(kind))));
}

TEST(LoadModel, AStepWithoutStartIsRefused) {
  EXPECT_THAT(
      model_errors_with("id = \"start\"\nkind = \"start\"", "id = \"start\"\nkind = \"zero\""),
      testing::IsSupersetOf({HasSubstr("exactly one step of kind \"zero\""),
                             HasSubstr("exactly one step of kind \"start\"")}));
}

TEST(LoadModel, TwoReceiversInOneTestAreRefused) {
  EXPECT_THAT(model_errors_with("receiver = \"small\"", "receiver = \"large\""),
              ElementsAre(HasSubstr("one receiver for the whole test")));
}

TEST(LoadModel, AHoldIsNotRepeated) {
  EXPECT_THAT(model_errors_with("target_gauge_pa = 800000", "target_gauge_pa = 600000"),
              Contains(HasSubstr("holds at different pressures; \"hold_800\" repeats one")));
}

// A kind that a model may name and no record can be read back with would lose tests.
TEST(LoadModel, EveryKindOfStepCanBeReadBackFromARecord) {
  const auto model = std::get<ModelDefinition>(load_model(model_text(), kModelFile));
  for (const StepDefinition& step : model.sequence)
    EXPECT_LE(step.kind, analysis::kLastStepKind) << step.id;
}

TEST(LoadModel, ARampNeedsARateAboveZero) {
  EXPECT_THAT(texts_of(load_model(with_key(model_text(), "rise_pa_s", "0"), kModelFile)),
              ElementsAre(HasSubstr("step[5].rise_pa_s: expected a number above 0")));
  EXPECT_THAT(texts_of(load_model(with_key(model_text(), "rise_pa_s", ""), kModelFile)),
              ElementsAre(HasSubstr("step[5].rise_pa_s")));
}

TEST(LoadModel, AStepsLimitsLeaveRoomForItsDuration) {
  EXPECT_THAT(texts_of(load_model(with_key(model_text(), "limit_s", "0.1"), kModelFile)),
              ElementsAre(HasSubstr("step[1].limit_s: expected a number above duration_s")));
}

TEST(LoadModel, AMetricNeedsTheStepsItComesFrom) {
  EXPECT_THAT(model_errors_with("\"fad_800\"", "\"fad_900\""),
              testing::IsSupersetOf({HasSubstr("found \"fad_900\"")}));
  const std::string without_top = with(with(model_text(), "id = \"hold_800\"", "id = \"hold_700\""),
                                       "target_gauge_pa = 800000", "target_gauge_pa = 700000");
  EXPECT_THAT(texts_of(load_model(without_top, kModelFile)),
              ElementsAre(HasSubstr("metrics: expected holds on both sides of \"fad_800\"")));
}

TEST(LoadModel, AConfirmationIsAnotherRoleThanTheOneThatTrips) {
  EXPECT_THAT(model_errors_with("confirm_role = \"speed\"\nconfirm_unit = \"rev/s\"",
                                "confirm_role = \"supply_current\"\nconfirm_unit = \"A\""),
              ElementsAre(HasSubstr("over_limit[1].confirm_role: expected another role")));
}

TEST(LoadModel, AnOverLimitMayCountInSomeStepsOnly) {
  const std::string one = with(model_text(), "unit = \"A\"\nabove_si",
                               "unit = \"A\"\nsteps = [\"hold_800\"]\nabove_si");
  const auto model = std::get<ModelDefinition>(load_model(one, kModelFile));
  EXPECT_THAT(model.over_limits[0].steps, ElementsAre("hold_800"));
  EXPECT_THAT(
      model_errors_with("unit = \"A\"\nabove_si", "unit = \"A\"\nsteps = [\"hold_900\"]\nabove_si"),
      ElementsAre(HasSubstr("over_limit[1].steps: expected ids of steps of the sequence, "
                            "found \"hold_900\"")));
}

TEST(LoadModel, AnOverLimitStatesItsUnit) {
  EXPECT_THAT(model_errors_with("unit = \"A\"\nabove_si", "unit = \"mA\"\nabove_si"),
              ElementsAre(HasSubstr("over_limit[1].unit: expected \"A\"")));
}

}  // namespace
}  // namespace endgate::daemon
