#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

const std::string kLimits = "limits/P1-60-12.toml";

std::vector<std::string> limit_errors(std::string_view from, std::string_view to) {
  return texts_of(load_limits(with(scenario_text(kLimits), from, to), kLimits));
}

TEST(LoadLimits, ReadsALimitInTheUnitPeopleSeeAsSi) {
  const std::string text =
      "kind = \"limits\"\nmodel = \"M\"\nguard = \"factor\"\npass_factor = 1.645\n"
      "fail_factor = 1.0\n[[limit]]\nmetric = \"fad_400\"\nunit = \"L/min\"\nlower = 36\n"
      "[[limit]]\nmetric = \"fad_600\"\nunit = \"m3/s\"\nlower = 6e-4\nseverity = \"warn\"\n";
  const Loaded<LimitFacts> loaded = load_limits(text, "limits/M.toml");
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const std::vector<analysis::Limit>& limits = std::get<LimitFacts>(loaded).limits.limits;
  ASSERT_EQ(limits.size(), 2U);
  EXPECT_DOUBLE_EQ(limits[0].lower.value(), 6e-4);  // 36 L/min
  EXPECT_FALSE(limits[0].upper);
  EXPECT_EQ(limits[0].pass_factor, 1.645);
  EXPECT_EQ(limits[0].fail_factor, 1.0);
  EXPECT_DOUBLE_EQ(limits[1].lower.value(), 6e-4);
  EXPECT_EQ(limits[1].severity, analysis::Severity::warn);
}

TEST(LoadLimits, AnUnknownUnitIsRefusedRatherThanGuessed) {
  EXPECT_THAT(limit_errors("unit = \"L/min\"", "unit = \"l/s\""),
              ElementsAre(HasSubstr("limit[1].unit: expected \"L/min\" or \"m3/s\", found "
                                    "\"l/s\"")));
}

TEST(LoadLimits, AGuardBandIsNeverAssumed) {
  EXPECT_THAT(texts_of(load_limits(with_key(scenario_text(kLimits), "pass_factor", ""), kLimits)),
              ElementsAre(HasSubstr("pass_factor: expected a number from -5 to 5, but the key is "
                                    "missing")));
}

std::vector<analysis::Limit> limits_with(const std::string& head, const std::string& own) {
  const std::string text = "kind = \"limits\"\nmodel = \"M\"\n" + head +
                           "[[limit]]\nmetric = \"fad_400\"\nunit = \"L/min\"\nlower = 36\n" + own;
  const Loaded<LimitFacts> loaded = load_limits(text, "limits/M.toml");
  EXPECT_THAT(texts_of(loaded), IsEmpty());
  const auto* facts = std::get_if<LimitFacts>(&loaded);
  return facts != nullptr ? facts->limits.limits : std::vector<analysis::Limit>(1);
}

TEST(LoadLimits, AGuardBandMayBeStatedByRiskOrByCost) {
  const std::string by_risk = "guard = \"risk\"\nconsumer_risk = 0.05\nproducer_risk = 0.5\n";
  const analysis::Limit risk = limits_with(by_risk, "").front();
  EXPECT_NEAR(risk.pass_factor, 1.644854, 1e-6);
  EXPECT_NEAR(risk.fail_factor, 0, 1e-12);
  const analysis::Limit cost =
      limits_with(by_risk, "guard = \"cost\"\nescape_cost_ratio = 19\nrejection_cost_ratio = 1\n")
          .front();
  EXPECT_NEAR(cost.pass_factor, 1.644854, 1e-6);
  EXPECT_NEAR(cost.fail_factor, 0, 1e-12);
  EXPECT_EQ(cost.guard, analysis::GuardRule::factor);
}

TEST(LoadLimits, ARuleOfRisksNeedsBothAndRefusesFactors) {
  EXPECT_THAT(limit_errors("pass_factor = 1.645\nfail_factor = 1.645",
                           "consumer_risk = 0.05\nproducer_risk = 0.7"),
              testing::Contains(HasSubstr("pass_factor: expected a number")));
  const std::string text =
      "kind = \"limits\"\nmodel = \"M\"\nguard = \"risk\"\nconsumer_risk = 0.7\npass_factor = 1\n"
      "[[limit]]\nmetric = \"fad_400\"\nunit = \"L/min\"\nlower = 36\n";
  EXPECT_THAT(texts_of(load_limits(text, "limits/M.toml")),
              testing::UnorderedElementsAre(HasSubstr("consumer_risk: expected a number from"),
                                            HasSubstr("producer_risk: expected a number from"),
                                            HasSubstr("pass_factor")));
}

TEST(LoadLimits, ALimitHasABoundAndAMetricIsLimitedOnce) {
  EXPECT_THAT(limit_errors("metric = \"fad_200\"", "metric = \"fad_0\""),
              ElementsAre(HasSubstr("limit[2].metric: expected an id used once")));
  const std::string text = scenario_text(kLimits);
  const std::size_t lower = text.find("lower = ");
  const std::string without = std::string(text).erase(lower, text.find('\n', lower) - lower);
  EXPECT_THAT(texts_of(load_limits(without, kLimits)),
              ElementsAre(HasSubstr("limit[1].lower: expected a lower bound, an upper bound")));
}

TEST(LoadLimits, AnUnknownMetricIsRefused) {
  EXPECT_THAT(limit_errors("metric = \"fad_0\"", "metric = \"fad_00\""),
              ElementsAre(HasSubstr("expected an id of schema/metrics.toml, found \"fad_00\"")));
}

TEST(LoadCalibration, KeepsTheUnitBesideEachChannel) {
  const std::string file = "calibrations/north.toml";
  const Loaded<CalibrationFacts> loaded = load_calibration(scenario_text(file), file);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const auto& facts = std::get<CalibrationFacts>(loaded);
  ASSERT_EQ(facts.channels.size(), facts.channel_units.size());
  EXPECT_EQ(facts.channels[1].first, "flow");
  EXPECT_EQ(facts.channels[1].second.u_gain_rel, 0.004);
  EXPECT_EQ(facts.channel_units[1], "m3/s");
}

TEST(LoadCalibration, AnUncertaintyMustBeStated) {
  const std::string file = "calibrations/north.toml";
  EXPECT_THAT(texts_of(load_calibration(with_key(scenario_text(file), "u_gain_rel", ""), file)),
              ElementsAre(HasSubstr("channel[1].u_gain_rel: expected a number from 0 to 0.5, but "
                                    "the key is missing")));
}

TEST(LoadCorrections, ACorrectionBeyondTenPercentPerKelvinIsRefused) {
  const std::string file = "corrections/P1-60-12.toml";
  for (const std::string key : {"speed_per_case_k", "current_per_head_k"})
    EXPECT_THAT(texts_of(load_corrections(
                    with(scenario_text(file), key + " = ", key + " = 0.2   # and not "), file)),
                ElementsAre(HasSubstr(key + ": expected a number from -0.1 to 0.1")));
}

TEST(LoadService, RefusesAPortThatIsNone) {
  EXPECT_THAT(texts_of(load_service(
                  with(scenario_text("service.toml"), "listen_port = 8640", "listen_port = 70000"),
                  "service.toml")),
              ElementsAre(HasSubstr("listen_port: expected a whole number from 0 to 65535")));
}

}  // namespace
}  // namespace endgate::daemon
