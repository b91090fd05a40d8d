#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/definitions/load.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;
using enum statistics::ControlRule;

ControlFacts facts() {
  return {.model = "P1-60-12",
          .metric = "fad_400",
          .bench = "north",
          .purpose = "production",
          .limits = {.centre = 8.123456789e-4,
                     .sigma_between = 3e-6,
                     .sigma_inside = 8e-6,
                     .widening = 1.177,
                     .likeness = 0.25,
                     .batches = 24},
          .rules = statistics::ControlRules(outside, running_mean),
          .run_length = {190, 61, 700.5},
          .from = {.first_batch = "week \"8\"",
                   .last_batch = "2632",
                   .first_position = 12,
                   .last_position = 1200,
                   .batches = 24,
                   .tests = 290,
                   .left_out = {"2611"}},
          .behind_position = 1300};
}

std::string first_control_error(const std::string& text) {
  const auto loaded = load_control(text, "control.toml");
  const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded);
  return errors == nullptr ? "" : errors->front().text();
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const std::size_t at = text.find(from);
  EXPECT_NE(at, std::string::npos) << from;
  return text.replace(at, from.size(), to);
}

TEST(ControlText, ReadsBackAsTheSameFacts) {
  const ControlFacts made = facts();
  const auto loaded = load_control(text_of(made), "control.toml");
  ASSERT_TRUE(std::holds_alternative<ControlFacts>(loaded)) << first_control_error(text_of(made));
  const auto& read = std::get<ControlFacts>(loaded);
  EXPECT_EQ(text_of(read), text_of(made));
  EXPECT_EQ(read.limits.centre, made.limits.centre);
  EXPECT_EQ(read.limits.batches, 24);
  EXPECT_EQ(read.from.first_batch, "week \"8\"");
  EXPECT_EQ(read.from.left_out, made.from.left_out);
  EXPECT_EQ(read.rules, made.rules);
  EXPECT_EQ(read.behind_position, 1300);
}

TEST(ControlText, IsOfOneMetricOfOneModelOnOneBenchOrAll) {
  EXPECT_EQ(std::get<std::string>(load_subject(DefinitionKind::control, text_of(facts()), "x")),
            "P1-60-12 fad_400 north");
  ControlFacts all = facts();
  all.bench.clear();
  EXPECT_EQ(std::get<std::string>(load_subject(DefinitionKind::control, text_of(all), "x")),
            "P1-60-12 fad_400");
  EXPECT_EQ(kind_in(text_of(all)), DefinitionKind::control);
}

TEST(ControlText, WithAWrongNumberNameOrRuleSaysWhatWasExpected) {
  const std::string right = text_of(facts());
  EXPECT_THAT(first_control_error(replaced(right, "fad_400", "fad_401")),
              HasSubstr("metrics.toml"));
  EXPECT_THAT(first_control_error(replaced(right, "m3/s", "L/min")), HasSubstr("\"m3/s\""));
  EXPECT_THAT(first_control_error(replaced(right, "outside", "inside")), HasSubstr("two_of_three"));
  EXPECT_THAT(first_control_error(replaced(right, "widening = 1.177", "widening = 0.5")),
              HasSubstr("from 1 to 10"));
  EXPECT_THAT(first_control_error(replaced(right, "batches = 24", "batches = 5")), HasSubstr("20"));
  EXPECT_THAT(first_control_error(replaced(right, "[from]", "[for]")), HasSubstr("from"));
  std::string flat = replaced(right, "sigma_inside_batch = 8e-06", "sigma_inside_batch = 0");
  flat = replaced(flat, "sigma_between_batches = 3e-06", "sigma_between_batches = 0");
  EXPECT_THAT(first_control_error(flat), HasSubstr("a scatter above 0"));
}

}  // namespace
}  // namespace endgate::daemon
