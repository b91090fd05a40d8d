#include "analysis/metric_facts.h"
#include "daemon/definitions/control_facts.h"
#include "daemon/definitions/number_range.h"
#include "daemon/definitions/toml_lines.h"

namespace endgate::daemon {
namespace {

template <class Names>
std::string toml_list(const Names& names) {
  std::string list;
  for (const auto& name : names)
    list += (list.empty() ? "" : ", ") + toml_quoted(std::string(name));
  return "[" + list + "]";
}

std::string toml_list(const statistics::ControlRules& rules) {
  std::vector<std::string_view> names;
  for (const statistics::ControlRule rule : rules.list())
    names.push_back(statistics::kControlRuleNames[static_cast<std::size_t>(rule)]);
  return toml_list(names);
}

std::string unit_of(const std::string& metric) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  return facts == nullptr ? "" : std::string(facts->si_unit);
}

std::string limit_lines(const statistics::ControlLimits& limits) {
  return toml_line("centre", limits.centre) +
         toml_line("sigma_between_batches", limits.sigma_between) +
         toml_line("sigma_inside_batch", limits.sigma_inside) +
         toml_line("widening", limits.widening) +
         toml_line("neighbour_correlation", limits.likeness);
}

std::string span_lines(const ControlSpan& span) {
  return "\n[from]\n" + toml_line("first_batch", toml_quoted(span.first_batch)) +
         toml_line("last_batch", toml_quoted(span.last_batch)) +
         toml_line("first_position", span.first_position) +
         toml_line("last_position", span.last_position) + toml_line("batches", span.batches) +
         toml_line("tests", span.tests) +
         (span.left_out.empty() ? "" : toml_line("left_out", toml_list(span.left_out)));
}

}  // namespace

std::string control_subject(const std::string& model, const std::string& metric,
                            const std::string& bench) {
  return model + " " + metric + (bench.empty() ? "" : " " + bench);
}

std::string text_of(const ControlFacts& facts) {
  return "# Limits of a mean of n units: centre -+ 3 widening\n"
         "# sqrt(sigma_between_batches^2 + sigma_inside_batch^2 / n).\n" +
         toml_line("kind", toml_quoted("control")) + toml_line("model", toml_quoted(facts.model)) +
         toml_line("metric", toml_quoted(facts.metric)) +
         (facts.bench.empty() ? "" : toml_line("bench", toml_quoted(facts.bench))) +
         toml_line("purpose", toml_quoted(facts.purpose)) +
         toml_line("unit", toml_quoted(unit_of(facts.metric))) + limit_lines(facts.limits) +
         toml_line("rules", toml_list(facts.rules)) +
         "# Batches until a false signal while nothing moves; low and high hold 90 %, because the\n"
         "# limits come from a sample.\n" +
         toml_line("false_signal_batches", facts.run_length.expected) +
         toml_line("false_signal_batches_low", facts.run_length.low) +
         toml_line("false_signal_batches_high", facts.run_length.high) +
         "# Judges batches whose first test lies behind this position of the store.\n" +
         toml_line("behind_position", facts.behind_position) + span_lines(facts.from);
}

}  // namespace endgate::daemon
