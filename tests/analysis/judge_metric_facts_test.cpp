// The table of metrics in code and the file that defines them say the same.

#include <gtest/gtest.h>
#include <toml++/toml.h>

#include <set>

#include "analysis/conclusion.h"
#include "analysis/grade_rests_on.h"
#include "analysis/metric_facts.h"
#include "analysis/reason_codes.h"

namespace endgate::analysis {
namespace {

toml::table metrics_file() {
  return toml::parse_file(std::string(ENDGATE_SOURCE_DIR) + "/schema/metrics.toml");
}

std::string text(const toml::node_view<const toml::node>& metric, std::string_view key) {
  return metric[key].value<std::string>().value_or("");
}

TEST(MetricFacts, AreEqualToTheFileThatDefinesThem) {
  const toml::table file = metrics_file();
  EXPECT_EQ(file.size(), kMetricFacts.size());
  for (const MetricFacts& facts : kMetricFacts) {
    const auto metric = toml::node_view<const toml::node>(file.get(facts.id));
    ASSERT_TRUE(metric.is_table()) << facts.id;
    EXPECT_EQ(text(metric, "name"), facts.name);
    EXPECT_EQ(text(metric, "sentence_name"), facts.sentence_name);
    EXPECT_EQ(text(metric, "si_unit"), facts.si_unit);
    EXPECT_EQ(text(metric, "display_unit"), facts.display_unit);
    EXPECT_EQ(metric["factor"].value<double>(), facts.factor) << facts.id;
    EXPECT_EQ(metric["offset"].value<double>(), facts.offset) << facts.id;
    EXPECT_EQ(metric["decimals"].value<int>(), facts.decimals) << facts.id;
    EXPECT_FALSE(text(metric, "definition").empty()) << facts.id;
  }
}

TEST(MetricFacts, EveryMetricSaysWhichChannelsItRestsOn) {
  for (const MetricFacts& facts : kMetricFacts)
    EXPECT_NE(rests_on(facts.id).roles, kAllRoles) << facts.id;
  EXPECT_EQ(rests_on("something_new").roles, kAllRoles);
}

TEST(MetricFacts, ThePressureInAnIdIsTheOneItIsEvaluatedAt) {
  for (const MetricRecipe& recipe : kMetrics)
    EXPECT_EQ(gauge_pa_of(recipe.id).value_or(0), recipe.gauge_pa) << recipe.id;
  for (const char* none : {"dead_head", "back_leak", "fad_", "fad", "fad_4x", "fad_-1", ""})
    EXPECT_FALSE(gauge_pa_of(none)) << none;
}

TEST(MetricFacts, AnUnknownIdHasNone) { EXPECT_EQ(facts_of_metric("fad_500"), nullptr); }

TEST(ReasonCodes, AreUniqueAndEachHasAMeaning) {
  std::set<std::string_view> codes;
  for (const ReasonCode& entry : kReasonCodes) {
    EXPECT_TRUE(codes.insert(entry.code).second) << entry.code;
    EXPECT_FALSE(entry.meaning.empty()) << entry.code;
  }
}

TEST(ReasonCodes, EveryStateOfAChannelAndEveryCauseOfABreakOffIsListed) {
  std::set<std::string_view> codes;
  for (const ReasonCode& entry : kReasonCodes) codes.insert(entry.code);
  for (int state = 1; state <= static_cast<int>(HealthState::time_sick); ++state)
    EXPECT_TRUE(codes.contains(code_of(static_cast<HealthState>(state)))) << state;
  for (int cause = 1; cause <= static_cast<int>(BreakOff::ended_by_service); ++cause)
    EXPECT_TRUE(codes.contains(code_of(static_cast<BreakOff>(cause)))) << cause;
}

}  // namespace
}  // namespace endgate::analysis
