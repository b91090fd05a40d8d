#include <toml++/toml.h>

#include <sstream>

#include "analysis/metric_facts.h"
#include "daemon/definitions/control_facts.h"
#include "daemon/definitions/number_range.h"

namespace endgate::daemon {
namespace {

std::string quoted(const std::string& text) {
  std::ostringstream out;
  out << toml::value<std::string>(text);
  return out.str();
}

template <class Names>
std::string list_of(const Names& names) {
  std::string list;
  for (const auto& name : names) list += (list.empty() ? "" : ", ") + quoted(std::string(name));
  return "[" + list + "]";
}

std::string line(const char* key, const std::string& value) {
  return std::string(key) + " = " + value + "\n";
}
std::string line(const char* key, double value) { return line(key, plain_number(value)); }
std::string line(const char* key, std::int64_t value) { return line(key, std::to_string(value)); }

std::string list_of(const statistics::ControlRules& rules) {
  std::vector<std::string_view> names;
  for (const statistics::ControlRule rule : rules.list())
    names.push_back(statistics::kControlRuleNames[static_cast<std::size_t>(rule)]);
  return list_of(names);
}

std::string unit_of(const std::string& metric) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  return facts == nullptr ? "" : std::string(facts->si_unit);
}

std::string limit_lines(const statistics::ControlLimits& limits) {
  return line("centre", limits.centre) + line("sigma_between_batches", limits.sigma_between) +
         line("sigma_inside_batch", limits.sigma_inside) + line("widening", limits.widening) +
         line("neighbour_correlation", limits.likeness);
}

std::string span_lines(const ControlSpan& span) {
  return "\n[from]\n" + line("first_batch", quoted(span.first_batch)) +
         line("last_batch", quoted(span.last_batch)) + line("first_position", span.first_position) +
         line("last_position", span.last_position) + line("batches", span.batches) +
         line("tests", span.tests) +
         (span.left_out.empty() ? "" : line("left_out", list_of(span.left_out)));
}

}  // namespace

std::string control_subject(const std::string& model, const std::string& metric,
                            const std::string& bench) {
  return model + " " + metric + (bench.empty() ? "" : " " + bench);
}

std::string text_of(const ControlFacts& facts) {
  return "# Limits of a mean of n units: centre -+ 3 widening\n"
         "# sqrt(sigma_between_batches^2 + sigma_inside_batch^2 / n).\n" +
         line("kind", quoted("control")) + line("model", quoted(facts.model)) +
         line("metric", quoted(facts.metric)) +
         (facts.bench.empty() ? "" : line("bench", quoted(facts.bench))) +
         line("purpose", quoted(facts.purpose)) + line("unit", quoted(unit_of(facts.metric))) +
         limit_lines(facts.limits) + line("rules", list_of(facts.rules)) +
         "# Batches until a false signal while nothing moves; low and high hold 90 %, because the\n"
         "# limits come from a sample.\n" +
         line("false_signal_batches", facts.run_length.expected) +
         line("false_signal_batches_low", facts.run_length.low) +
         line("false_signal_batches_high", facts.run_length.high) +
         "# Judges batches whose first test lies behind this position of the store.\n" +
         line("behind_position", facts.behind_position) + span_lines(facts.from);
}

}  // namespace endgate::daemon
