// `endgate control freeze METRIC` and `endgate control list`: frozen control limits

#include <algorithm>
#include <iostream>
#include <iterator>
#include <sstream>

#include "analysis/metric_facts.h"
#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/accept_text.h"
#include "daemon/line/control_history.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/control_words.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

constexpr int kControlDigits = 6;

std::vector<std::string> words_in(const std::string& text) {
  std::istringstream in(text);
  return {std::istream_iterator<std::string>(in), {}};
}

// Nothing, with a word on standard error, when a name is no rule.
std::optional<statistics::ControlRules> rules_in(const std::string& text) {
  if (text.empty()) return statistics::kUsualRules;
  statistics::ControlRules rules;
  for (const std::string& name : words_in(text)) {
    const auto* known = std::ranges::find(statistics::kControlRuleNames, name);
    if (known == statistics::kControlRuleNames.end()) {
      std::cerr << "There is no rule " << name << ". There are:";
      for (const std::string_view each : statistics::kControlRuleNames) std::cerr << " " << each;
      std::cerr << ".\n";
      return std::nullopt;
    }
    rules.add(static_cast<statistics::ControlRule>(known - statistics::kControlRuleNames.begin()));
  }
  return rules;
}

std::string level(const analysis::MetricFacts& metric, double si) {
  return csv_number(si * metric.factor + metric.offset, kControlDigits);
}
std::string size(const analysis::MetricFacts& metric, double si) {
  return csv_number(si * metric.factor, kControlDigits);
}
std::string between(const analysis::MetricFacts& metric, const ControlFacts& facts, double sigma) {
  const double half = statistics::kOutside * sigma;
  return level(metric, facts.limits.centre - half) + " to " +
         level(metric, facts.limits.centre + half);
}

void show(const ControlFacts& facts) {
  const analysis::MetricFacts& metric = *analysis::facts_of_metric(facts.metric);
  const statistics::ControlLimits& limits = facts.limits;
  const double n = static_cast<double>(facts.from.tests) / limits.batches;
  write_table(
      {{std::string(metric.name) + " [" + std::string(metric.display_unit) + "]", ""},
       {"from", std::to_string(facts.from.tests) + " tests in " +
                    std::to_string(facts.from.batches) + " batches, " + facts.from.first_batch +
                    " to " + facts.from.last_batch},
       {"centre", level(metric, limits.centre)},
       {"standard deviation between batches", size(metric, limits.sigma_between)},
       {"standard deviation inside a batch", size(metric, limits.sigma_inside)},
       {"widened, because from a sample, by", csv_number(limits.widening, 4)},
       {"limits of a mean of " + csv_number(n, 3), between(metric, facts, limits.sigma_of_mean(n))},
       {"limits of one unit", between(metric, facts, limits.sigma_of_unit())},
       {"correlation of neighbouring batches", csv_number(limits.likeness, 2)},
       {"one false signal in", words_of_run_length(facts.run_length)},
       {"judges tests behind position", std::to_string(facts.behind_position)}},
      std::cerr);
  for (const statistics::ControlRule rule : facts.rules.list())
    std::cerr << "rule in force: " << rule_words(rule) << "\n";
}

std::string names_of(const statistics::ControlRules& rules) {
  std::string names;
  for (const statistics::ControlRule rule : rules.list())
    names += (names.empty() ? "" : " ") +
             std::string(statistics::kControlRuleNames[static_cast<std::size_t>(rule)]);
  return names;
}

TextRow row_of(const FrozenText& text) {
  const schema::Definition& made = text.version;
  TextRow row{made.subject, std::to_string(made.version), say_utc_minute(made.at.utc_ms), made.by,
              made.why};
  if (!text.facts) {
    row.push_back("this text can no longer be read");
    return row;
  }
  const ControlFacts& facts = *text.facts;
  const analysis::MetricFacts& metric = *analysis::facts_of_metric(facts.metric);
  for (std::string word :
       {facts.from.first_batch + " to " + facts.from.last_batch, std::to_string(facts.from.tests),
        level(metric, facts.limits.centre) + " " + std::string(metric.display_unit),
        size(metric, facts.limits.sigma_between), size(metric, facts.limits.sigma_inside),
        words_of_run_length(facts.run_length), names_of(facts.rules)})
    row.push_back(std::move(word));
  return row;
}

bool is_asked(const FrozenText& text, const ControlListCommand& command) {
  if (!text.facts) return true;
  return (command.model.empty() || command.model == text.facts->model) &&
         (command.metric.empty() || command.metric == text.facts->metric);
}

}  // namespace

int run_command(const ControlFreezeCommand& command) {
  const auto rules = rules_in(command.rules);
  if (!rules) return kUsage;
  const schema::StoreReader store(store_folder(command.store));
  const auto filter = filter_asked(store, command.asked);
  if (!filter) return kUsage;
  const Frozen frozen = freeze_control(store, {.tests = *filter,
                                               .metric = command.asked.metric,
                                               .first_batch = command.from,
                                               .last_batch = command.to,
                                               .left_out = command.left_out,
                                               .rules = *rules});
  if (const auto* wrong = std::get_if<std::string>(&frozen)) {
    std::cerr << *wrong << "\n";
    return kNegative;
  }
  const auto& facts = std::get<ControlFacts>(frozen);
  show(facts);
  if (command.dry_run) {
    std::cerr << "Nothing was frozen.\n";
    return kOk;
  }
  FactWay way(command.store);
  const Application::AcceptCommand asked{
      "control " + control_subject(facts.model, facts.metric, facts.bench), text_of(facts),
      command.by, command.why};
  return tell(way.enter(
      [&](schema::StoreWriter& writer) { return accept_text(writer, way.folder(), asked); },
      "/api/v1/accept",
      {{"file_name", asked.file_name},
       {"text", asked.text},
       {"by", asked.by},
       {"why", asked.why}}));
}

int run_command(const ControlListCommand& command) {
  std::vector<TextRow> rows{{"subject", "version", "frozen (UTC)", "by", "why", "batches", "tests",
                             "centre", "between", "inside", "one false signal in", "rules"}};
  for (const FrozenText& text : frozen_texts(schema::StoreReader(store_folder(command.store))))
    if (is_asked(text, command)) rows.push_back(row_of(text));
  if (rows.size() == 1) {
    std::cerr << "No control limits were frozen here.\n";
    return kNegative;
  }
  write_table(rows, std::cout);
  return kOk;
}

}  // namespace endgate::daemon
