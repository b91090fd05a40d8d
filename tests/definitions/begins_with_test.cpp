// A step that runs beside others names where it begins.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "daemon/definitions/load.h"

namespace endgate::tests {
namespace {

using namespace daemon;
using ::testing::HasSubstr;

std::string scenario_model() {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario/models/P1-60-12.toml");
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

// The scenario's model with its seal test beginning with that step.
Loaded<ModelDefinition> beginning_with(const std::string& id) {
  std::string text = scenario_model();
  const std::string key = "begins_with = \"";
  const std::size_t from = text.find(key) + key.size();
  text.replace(from, text.find('"', from) - from, id);
  return load_model(text, "models/P1-60-12.toml");
}

std::string error_of(const Loaded<ModelDefinition>& loaded) {
  const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded);
  return errors == nullptr || errors->empty() ? "" : errors->front().text();
}

TEST(BeginsWith, NamesAnEarlierStep) {
  for (const std::string id : {"start", "hold_800", "back_leak"}) {
    const Loaded<ModelDefinition> loaded = beginning_with(id);
    ASSERT_TRUE(std::holds_alternative<ModelDefinition>(loaded)) << error_of(loaded);
    const auto& steps = std::get<ModelDefinition>(loaded).sequence;
    const auto seal = std::ranges::find(steps, "seal_leak", &StepDefinition::id);
    ASSERT_NE(seal, steps.end());
    EXPECT_EQ(seal->begins_with, id);
  }
}

TEST(BeginsWith, RefusesAStepThatIsUnknownOrTooEarlyOrTooLate) {
  for (const char* id : {"hold_500", "zero", "vent", "seal_leak"})
    EXPECT_THAT(error_of(beginning_with(id)), HasSubstr("begins_with")) << id;
}

TEST(BeginsWith, IsNoKeyOfOtherKindsOfStep) {
  std::string text = scenario_model();
  const std::string hold = "kind = \"hold\"\n";
  text.insert(text.find(hold) + hold.size(), "begins_with = \"warm_up\"\n");
  EXPECT_THAT(error_of(load_model(text, "models/P1-60-12.toml")), HasSubstr("begins_with"));
}

}  // namespace
}  // namespace endgate::tests
