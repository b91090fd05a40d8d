// Limits on the curve and on relations, and classes, as they stand in a file.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <sstream>

#include "daemon/definitions/context_of.h"
#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::string example() {
  const std::filesystem::path path = std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures" /
                                     "examples" / "limits" / "band_relation_class.toml";
  std::stringstream text;
  text << std::ifstream(path).rdbuf();
  return text.str();
}

analysis::LimitSet loaded_example() {
  const Loaded<LimitFacts> loaded = load_limits(example(), "example");
  EXPECT_THAT(texts_of(loaded), IsEmpty());
  const auto* facts = std::get_if<LimitFacts>(&loaded);
  return facts != nullptr ? facts->limits : analysis::LimitSet{};
}

std::vector<std::string> errors_with(std::string_view from, std::string_view to) {
  return texts_of(load_limits(with(example(), from, to), "example"));
}

TEST(LoadLimitSubjects, ABandOfTheCurveIsReadPointByPoint) {
  const analysis::LimitSet set = loaded_example();
  ASSERT_EQ(set.limits.size(), 3U);
  const analysis::Limit& band = set.limits[1];
  EXPECT_EQ(band.metric, "curve");
  EXPECT_FALSE(band.lower || band.upper);
  ASSERT_EQ(band.points.size(), 3U);
  EXPECT_EQ(band.points[1].gauge_pa, 300e3);
  EXPECT_DOUBLE_EQ(band.points[0].lower.value(), 56.8 / 60000);
  EXPECT_DOUBLE_EQ(band.points[0].upper.value(), 70.0 / 60000);
  EXPECT_FALSE(band.points[1].upper);
}

TEST(LoadLimitSubjects, ARelationIsReadInTheUnitsOfBothMetrics) {
  const analysis::Limit relation = loaded_example().limits.at(2);
  EXPECT_EQ(relation.metric, "current_600~fad_600");
  EXPECT_DOUBLE_EQ(relation.slope, 0.21 * 60000);
  EXPECT_DOUBLE_EQ(relation.intercept, 12.8);
  EXPECT_DOUBLE_EQ(relation.upper.value(), 1.2);
  EXPECT_EQ(relation.pass_factor, 1.645);
}

TEST(LoadLimitSubjects, ClassesStandInTheirOrderWithTheGuardOfTheFile) {
  const analysis::LimitSet set = loaded_example();
  ASSERT_EQ(set.classes.size(), 2U);
  EXPECT_EQ(set.classes[0].name, "A");
  ASSERT_EQ(set.classes[0].limits.size(), 2U);
  EXPECT_DOUBLE_EQ(set.classes[0].limits[0].lower.value(), 42.0 / 60000);
  EXPECT_EQ(set.classes[0].limits[0].fail_factor, 1.645);
}

TEST(LoadLimitSubjects, ABandNeedsTwoPointsThatRise) {
  EXPECT_THAT(errors_with("gauge_pa = 300000", "gauge_pa = 0"),
              ElementsAre(HasSubstr("limit[2].point[2].gauge_pa: expected points in ascending")));
  const std::string one =
      "kind = \"limits\"\nmodel = \"M\"\nguard = \"none\"\n[[limit]]\nmetric = \"curve\"\n"
      "unit = \"L/min\"\n[[limit.point]]\ngauge_pa = 0\nlower = 1\n";
  EXPECT_THAT(texts_of(load_limits(one, "example")),
              ElementsAre(HasSubstr("limit[1].point: expected at least two tables")));
  EXPECT_THAT(errors_with("gauge_pa = 300000\nlower = 45.7", "gauge_pa = 300000"),
              ElementsAre(HasSubstr("limit[2].point[2].lower: expected a lower bound")));
}

TEST(LoadLimitSubjects, ARelationIsBetweenTwoKnownMetricsWithUnitsFromZero) {
  EXPECT_THAT(errors_with("against = \"fad_600\"", "against = \"fad_6\""),
              ElementsAre(HasSubstr("limit[3].against: expected an id of schema/metrics.toml")));
  EXPECT_THAT(errors_with("against_unit = \"L/min\"", "against_unit = \"l/s\""),
              ElementsAre(HasSubstr("limit[3].against_unit: expected \"L/min\" or \"m3/s\"")));
  EXPECT_THAT(errors_with("against = \"fad_600\"\nagainst_unit = \"L/min\"",
                          "against = \"duty_peak_head\"\nagainst_unit = \"K\""),
              ElementsAre(HasSubstr("metrics whose units begin at zero")));
  EXPECT_THAT(errors_with("slope = 0.21", "# slope = 0.21"),
              ElementsAre(HasSubstr("limit[3].slope")));
}

TEST(LoadLimitSubjects, AClassIsNamedOnceAndNarrowerThanTheSet) {
  EXPECT_THAT(errors_with("name = \"B\"", "name = \"A\""),
              ElementsAre(HasSubstr("class[2].name: expected an id used once")));
  EXPECT_THAT(errors_with("lower = 40.5", "lower = 39"),
              ElementsAre(HasSubstr("class[2].limit[1].lower: expected no lower bound below")));
  EXPECT_THAT(errors_with("lower = 40.5", "lower = 40.5\nseverity = \"warn\""),
              ElementsAre(HasSubstr("class[2].limit[1].severity")));
}

class LimitsOnModel : public testing::Test {
 protected:
  std::string refusal_with(std::string_view from, std::string_view to) {
    const auto limits = std::get<LimitFacts>(load_limits(with(example(), from, to), "example"));
    const auto context = context_of(bench, model, calibration, corrections, limits, {});
    const auto* refusal = std::get_if<std::string>(&context);
    return refusal == nullptr ? "" : *refusal;
  }
  BenchDefinition bench =
      std::get<BenchDefinition>(load_bench(scenario_text("benches/north.toml"), "north"));
  ModelDefinition model =
      std::get<ModelDefinition>(load_model(scenario_text("models/P1-60-12.toml"), "model"));
  CalibrationFacts calibration = std::get<CalibrationFacts>(
      load_calibration(scenario_text("calibrations/north.toml"), "calibration"));
  CorrectionFacts corrections = std::get<CorrectionFacts>(
      load_corrections(scenario_text("corrections/P1-60-12.toml"), "corrections"));
};

TEST_F(LimitsOnModel, TheExampleSuitsItsModel) { EXPECT_EQ(refusal_with("", ""), ""); }

TEST_F(LimitsOnModel, ABandBeyondTheHoldsIsRefused) {
  EXPECT_THAT(refusal_with("gauge_pa = 700000", "gauge_pa = 900000"),
              HasSubstr("a point at 900 kPa gauge, which lies outside the holds"));
}

// No curve is drawn there, whatever the holds.
TEST_F(LimitsOnModel, ABandBeyondTheDrawnCurveIsRefused) {
  for (StepDefinition& step : model.sequence)
    if (step.kind == analysis::StepKind::hold) step.target_gauge_pa *= 1.13;
  EXPECT_THAT(refusal_with("gauge_pa = 700000", "gauge_pa = 900000"),
              HasSubstr("above the 800 kPa to which a curve is drawn"));
}

TEST_F(LimitsOnModel, ARelationOrClassOnWhatIsNotMeasuredIsRefused) {
  std::erase(model.metrics, "current_600");
  EXPECT_THAT(refusal_with("", ""), HasSubstr("name metric \"current_600\""));
  model.metrics.push_back("current_600");
  std::erase(model.metrics, "back_leak");
  EXPECT_THAT(refusal_with("", ""), HasSubstr("name metric \"back_leak\""));
}

}  // namespace
}  // namespace endgate::daemon
