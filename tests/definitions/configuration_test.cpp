#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/definitions/context_of.h"
#include "daemon/definitions/fit.h"
#include "tests/definitions/scenario_text.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

template <class T>
T loaded(Loaded<T> result) {
  EXPECT_THAT(texts_of(result), IsEmpty());
  return std::get<T>(std::move(result));
}

struct Scenario {
  BenchDefinition bench;
  ModelDefinition model;
  CalibrationFacts calibration;
  CorrectionFacts corrections;
  LimitFacts limits;

  [[nodiscard]] std::variant<analysis::Context, std::string> context() const {
    return context_of(bench, model, calibration, corrections, limits,
                      {.bench = 2, .model = 3, .calibration = 4, .corrections = 5, .limits = 6});
  }
};

Scenario scenario_of(const std::string& bench, const std::string& model) {
  const auto text = [](const std::string& folder, const std::string& subject) {
    return scenario_text(folder + "/" + subject + ".toml");
  };
  return {loaded(load_bench(text("benches", bench), bench)),
          loaded(load_model(text("models", model), model)),
          loaded(load_calibration(text("calibrations", bench), bench)),
          loaded(load_corrections(text("corrections", model), model)),
          loaded(load_limits(text("limits", model), model))};
}

TEST(Configuration, EveryScenarioFileLoads) {
  const ConfigurationFolder folder = read_configuration(scenario_folder());
  for (const DefinitionError& error : folder.errors) ADD_FAILURE() << error.text();
  EXPECT_EQ(folder.files.size(), 1U + 2 + 4 + 2 + 4 + 4 + 4 + 1);
  EXPECT_EQ(folder.files.front().kind, DefinitionKind::service);
}

TEST(Configuration, EveryScenarioModelFitsEveryScenarioBench) {
  for (const std::string bench : {"north", "south"})
    for (const std::string model : {"P1-20-12", "P1-60-12", "P1-60-24", "P2-120-24"}) {
      const auto context = scenario_of(bench, model).context();
      const auto* refusal = std::get_if<std::string>(&context);
      EXPECT_EQ(refusal, nullptr) << bench << " " << model << ": " << *refusal;
    }
}

TEST(Configuration, AMissingFolderIsNamed) {
  const ConfigurationFolder folder = read_configuration("/nowhere/at/all");
  ASSERT_EQ(folder.errors.size(), 1U);
  EXPECT_EQ(folder.errors[0].text(),
            "/nowhere/at/all: expected a folder with service.toml, benches/ and models/");
}

TEST(Configuration, AMissingServiceFileIsAnError) {
  const test::TemporaryFolder empty;
  const ConfigurationFolder folder = read_configuration(empty.path());
  ASSERT_EQ(folder.errors.size(), 1U);
  EXPECT_EQ(folder.errors[0].text(), "service.toml: expected a readable file of at most 1 MB");
}

TEST(Configuration, TwoFilesOfOneSubjectAndFactsOfNobodyAreErrors) {
  const test::TemporaryFolder folder;
  std::filesystem::copy(
      scenario_folder(), folder.path(),
      std::filesystem::copy_options::recursive | std::filesystem::copy_options::overwrite_existing);
  std::filesystem::copy(folder.path() / "benches/north.toml", folder.path() / "benches/zz.toml");
  std::filesystem::remove(folder.path() / "models/P1-20-12.toml");
  std::vector<std::string> texts;
  for (const DefinitionError& error : read_configuration(folder.path()).errors)
    texts.push_back(error.text());
  EXPECT_THAT(texts,
              ElementsAre("benches/zz.toml: expected one file for each bench; \"north\" is also "
                          "in benches/north.toml",
                          "corrections/P1-20-12.toml: expected a model file that defines "
                          "\"P1-20-12\"",
                          "limits/P1-20-12.toml: expected a model file that defines "
                          "\"P1-20-12\"",
                          "causes/P1-20-12.toml: expected a model file that defines "
                          "\"P1-20-12\""));
}

TEST(Configuration, AWrongBenchFileDoesNotMakeItsCalibrationWrongToo) {
  const test::TemporaryFolder folder;
  std::filesystem::copy(
      scenario_folder(), folder.path(),
      std::filesystem::copy_options::recursive | std::filesystem::copy_options::overwrite_existing);
  std::ofstream(folder.path() / "benches/north.toml") << "kind = 7";
  for (const DefinitionError& error : read_configuration(folder.path()).errors)
    EXPECT_EQ(error.file, "benches/north.toml");
}

TEST(ContextOf, EveryFactCarriesTheIdOfTheAcceptedText) {
  const auto context = std::get<analysis::Context>(scenario_of("north", "P1-60-12").context());
  EXPECT_EQ(context.bench.definition, "bench north@2");
  EXPECT_EQ(context.model.definition, "model P1-60-12@3");
  EXPECT_EQ(context.bench.channels[0].calibration.id, "calibration north@4");
  EXPECT_EQ(context.bench.receivers[0].constants, "calibration north@4");
  EXPECT_EQ(context.model.thermal.id, "corrections P1-60-12@5");
  EXPECT_EQ(context.limits.id, "limits P1-60-12@6");
  EXPECT_EQ(context.limits.version, 6);
  EXPECT_EQ(context.bench.channels[1].calibration.u_gain_rel, 0.004);
}

std::string refusal_of(const Scenario& scenario) {
  const auto context = scenario.context();
  const auto* refusal = std::get_if<std::string>(&context);
  return refusal == nullptr ? "none" : *refusal;
}

TEST(ContextOf, SaysWhatIsMissing) {
  const Scenario good = scenario_of("north", "P1-60-12");
  Scenario one = good;
  one.calibration.channels.erase(one.calibration.channels.begin() + 1);
  one.calibration.channel_units.erase(one.calibration.channel_units.begin() + 1);
  EXPECT_EQ(refusal_of(one), "bench north has no calibration of channel \"flow\"");
  one = good;
  one.calibration.receivers.clear();
  EXPECT_THAT(refusal_of(one), HasSubstr("no constants of receiver \"small\""));
  one = good;
  one.limits.limits.limits.clear();
  EXPECT_EQ(refusal_of(one), "model P1-60-12 has no limits");
  one = good;
  one.limits.model = "P1-20-12";
  EXPECT_EQ(refusal_of(one), "the limits are of model P1-20-12, not of P1-60-12");
  one = good;
  std::erase(one.model.metrics, "dead_head");
  one.limits.limits.limits[0].metric = "dead_head";
  EXPECT_THAT(refusal_of(one), HasSubstr("metric \"dead_head\", which model P1-60-12 does not"));
}

TEST(ContextOf, ACalibrationInAnotherUnitIsRefused) {
  Scenario scenario = scenario_of("north", "P1-60-12");
  scenario.calibration.channel_units[0] = "Pa abs";
  EXPECT_EQ(refusal_of(scenario),
            "the calibration of channel \"discharge_pressure\" is in Pa abs, the channel in Pa "
            "gauge");
}

TEST(Fit, NamesEachThingThatKeepsAModelFromABench) {
  Scenario scenario = scenario_of("north", "P1-60-12");
  scenario.bench.supply_voltages_v = {27};
  std::erase_if(scenario.bench.actuators,
                [](const ActuatorDefinition& actuator) { return actuator.id == "seal_fill"; });
  scenario.bench.receivers.erase(scenario.bench.receivers.begin());
  scenario.bench.over_limits[0].limit_si = 700000;
  EXPECT_THAT(misfits_of(scenario.bench, scenario.model),
              ElementsAre(HasSubstr("13.5 V is not among the bench's supply_voltages_v"),
                          HasSubstr("step \"seal_leak\" needs the actuator \"seal_fill\""),
                          HasSubstr("step \"hold_800\" would trip over-limit "
                                    "\"discharge_pressure_max\""),
                          HasSubstr("the bench has no receiver \"small\"")));
}

TEST(Fit, AHoldBeyondTheSensorIsNamed) {
  Scenario scenario = scenario_of("north", "P1-60-12");
  scenario.bench.channels[0].facts.range_max_si = 750000;
  EXPECT_THAT(misfits_of(scenario.bench, scenario.model),
              ElementsAre(HasSubstr("\"hold_800\" goes beyond the range of channel")));
}

TEST(NotPromised, TheScenarioBenchesLeaveNothingUnpromised) {
  EXPECT_THAT(not_promised_of(scenario_of("north", "P1-60-12").bench), IsEmpty());
}

TEST(NotPromised, ABenchWithoutTachoOrHumidityEndsNoStepEarlyAndSaysSo) {
  BenchDefinition bench = scenario_of("north", "P1-60-12").bench;
  std::erase_if(bench.channels, [](const ChannelDefinition& one) {
    return one.facts.role == analysis::Role::speed ||
           one.facts.role == analysis::Role::relative_humidity;
  });
  EXPECT_THAT(not_promised_of(bench),
              ElementsAre(HasSubstr("No channel with role speed: that holds end"),
                          HasSubstr("role relative_humidity: that back-leak tests end"),
                          HasSubstr("role relative_humidity: that seal-leak tests end")));
}

TEST(NotPromised, ABenchWithoutLeaseOrReadBackSaysSo) {
  BenchDefinition bench = scenario_of("north", "P1-60-12").bench;
  bench.lease.reset();
  bench.interlocks.motor_relay_closed.reset();
  bench.actuators[0].read_back_bit.reset();
  bench.actuators[2].read_back_bit.reset();
  const std::vector<std::string> sentences = not_promised_of(bench);
  EXPECT_EQ(sentences.size(), 3U);
  EXPECT_THAT(sentences, Contains(HasSubstr("nothing opens the motor relay")));
  EXPECT_THAT(sentences, Contains(HasSubstr("that the motor is off is not promised")));
  EXPECT_THAT(sentences, Contains(HasSubstr("\"vent\" has no read-back")));
}

TEST(NotPromised, ABenchThatTakesMoreCurrentForNoneSaysSo) {
  BenchDefinition bench = scenario_of("north", "P1-60-12").bench;
  bench.motor_current_flows_a = 0.8;
  EXPECT_THAT(not_promised_of(bench),
              ElementsAre(HasSubstr("A motor that takes up to 0.8 A counts as off")));
}

}  // namespace
}  // namespace endgate::daemon
