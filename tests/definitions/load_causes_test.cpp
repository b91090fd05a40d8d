// Causes files: what is read, and where a wrong one is wrong.

#include <gtest/gtest.h>

#include "daemon/definitions/load.h"

namespace endgate::daemon {
namespace {

const std::string kText = R"(kind = "causes"
model = "M"

[[reading]]
id = "fad_400"
healthy = 1e-3
covariance = [1e-4]

[[reading]]
id = "back_leak"
healthy = 1e-7
logarithmic = true
covariance = [0, 0.04]

[[cause]]
id = "reed"
name = "suction reed"
check = "open the head"
prior = 1

[[cause.level]]
severity = 0.5
shift = [-0.1, 0]

[[cause.level]]
severity = 1
sign = "no_start"
shift = [-0.2, 0]
)";

std::string text_with(std::string from, const std::string& to) {
  std::string text = kText;
  return text.replace(text.find(from), from.size(), to);
}

std::string first_cause_error(const std::string& text) {
  const auto loaded = load_causes(text, "causes/M.toml");
  const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded);
  return errors == nullptr ? "" : errors->front().text();
}

TEST(LoadCauses, ReadsReadingsScatterAndLevels) {
  const auto loaded = load_causes(kText, "causes/M.toml");
  ASSERT_TRUE(std::holds_alternative<CauseFacts>(loaded)) << first_cause_error(kText);
  const CauseFacts& facts = std::get<CauseFacts>(loaded);
  EXPECT_EQ(facts.model, "M");
  EXPECT_TRUE(facts.table.readings[1].logarithmic);
  EXPECT_EQ(facts.table.covariance, (std::vector<double>{1e-4, 0, 0.04}));
  ASSERT_EQ(facts.table.causes.size(), 1U);
  EXPECT_EQ(facts.table.causes[0].levels[1].sign, "no_start");
  EXPECT_EQ(facts.table.causes[0].levels[0].shift, (std::vector<double>{-0.1, 0}));
}

TEST(LoadCauses, SaysWhereAShiftHasTheWrongLength) {
  const std::string error = first_cause_error(text_with("shift = [-0.1, 0]", "shift = [-0.1]"));
  EXPECT_NE(error.find("causes/M.toml:23"), std::string::npos) << error;
  EXPECT_NE(error.find("cause[1].level[1].shift"), std::string::npos) << error;
  EXPECT_NE(error.find("2 numbers"), std::string::npos) << error;
}

TEST(LoadCauses, RefusesSeveritiesThatDoNotRise) {
  EXPECT_NE(first_cause_error(text_with("severity = 1\n", "severity = 0.5\n")).find("severity"),
            std::string::npos);
}

TEST(LoadCauses, RefusesAReadingThatScattersNotAtAll) {
  EXPECT_NE(first_cause_error(text_with("[0, 0.04]", "[0, 0]")).find("covariance"),
            std::string::npos);
}

TEST(LoadCauses, RefusesAnEmptyTable) {
  EXPECT_NE(first_cause_error("kind = \"causes\"\nmodel = \"M\"\n"), "");
}

}  // namespace
}  // namespace endgate::daemon
