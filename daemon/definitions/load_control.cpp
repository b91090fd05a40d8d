#include <algorithm>

#include "analysis/metric_facts.h"
#include "daemon/definitions/load_text.h"

namespace endgate::daemon {
namespace {

constexpr std::int64_t kMost = std::int64_t{1} << 53;
constexpr NumberRange kLikeness{.min = 0, .max = 0.99};
constexpr NumberRange kWidening{.min = 1, .max = 10};

void read_metric(TomlReader& root, ControlFacts& facts) {
  facts.metric = root.text("metric");
  const analysis::MetricFacts* metric = analysis::facts_of_metric(facts.metric);
  if (metric == nullptr && root.sound("metric"))
    root.complain("metric", "an id of schema/metrics.toml, found \"" + facts.metric + "\"");
  const std::string unit = root.text("unit");
  if (metric != nullptr && !unit.empty() && unit != metric->si_unit)
    root.complain("unit", "\"" + std::string(metric->si_unit) + "\", found \"" + unit + "\"");
}

void read_limits_of_control(TomlReader& root, statistics::ControlLimits& limits) {
  limits.centre = root.number("centre");
  limits.sigma_between = root.number("sigma_between_batches", kNotNegative);
  limits.sigma_inside = root.number("sigma_inside_batch", kNotNegative);
  limits.widening = root.number("widening", kWidening);
  limits.likeness = root.number("neighbour_correlation", kLikeness);
  if (root.sound("sigma_between_batches") && root.sound("sigma_inside_batch") &&
      !(limits.sigma_between + limits.sigma_inside > 0))
    root.complain("sigma_between_batches", "a scatter above 0 here or in sigma_inside_batch");
}

void read_rules(TomlReader& root, statistics::ControlRules& rules) {
  for (const std::string& name : root.texts("rules")) {
    const auto* known = std::ranges::find(statistics::kControlRuleNames, name);
    if (known == statistics::kControlRuleNames.end())
      root.complain("rules",
                    "outside, two_of_three, one_side, running_mean or running_sum, found "
                    "\"" +
                        name + "\"");
    else
      rules.add(
          static_cast<statistics::ControlRule>(known - statistics::kControlRuleNames.begin()));
  }
  if (!rules.any() && root.sound("rules")) root.complain("rules", "at least one rule");
}

void read_span(TomlReader& from, ControlFacts& facts) {
  ControlSpan& span = facts.from;
  span.first_batch = from.text("first_batch");
  span.last_batch = from.text("last_batch");
  span.first_position = from.integer("first_position", 1, kMost);
  span.last_position = from.integer("last_position", span.first_position, kMost);
  span.batches = from.integer("batches", std::int64_t{statistics::kFewestControlBatches}, kMost);
  span.tests = from.integer("tests", span.batches, kMost);
  if (from.has("left_out")) span.left_out = from.texts("left_out");
  facts.limits.batches = static_cast<double>(span.batches);
}

void read_control(TomlReader& root, ControlFacts& facts) {
  facts.model = root.text("model");
  read_metric(root, facts);
  facts.bench = root.text_or("bench", "");
  facts.purpose = root.text("purpose");
  read_limits_of_control(root, facts.limits);
  read_rules(root, facts.rules);
  facts.run_length.expected = root.number("false_signal_batches", {.min = 1});
  facts.run_length.low = root.number("false_signal_batches_low", {.min = 1});
  facts.run_length.high = root.number("false_signal_batches_high", {.min = 1});
  facts.behind_position = root.integer("behind_position", 0, kMost);
  if (root.section("from", [&](TomlReader& from) { read_span(from, facts); }) == 0)
    root.complain("from", "the tests that the limits come from");
}

}  // namespace

Loaded<ControlFacts> load_control(std::string_view text, const std::string& file) {
  return load_text<ControlFacts>(text, file, DefinitionKind::control, read_control);
}

}  // namespace endgate::daemon
