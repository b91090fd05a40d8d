#include "daemon/views/limits_view.h"

#include <algorithm>
#include <ranges>
#include <string_view>

#include "daemon/queries/control_words.h"
#include "daemon/views/shown.h"
#include "daemon/views/trend_words.h"
#include "reports/limit_steps.h"

namespace endgate::daemon {
namespace {

std::string day_of(std::int64_t utc_ms) { return date_and_minute(utc_ms).substr(0, 10); }

std::string version_name(std::int64_t version, std::int64_t utc_ms) {
  return "Version " + std::to_string(version) + ", " + day_of(utc_ms);
}

std::string names_of(const LimitChange& change) {
  return change.by + (change.second_by.empty() ? "" : ", " + change.second_by);
}

std::optional<double> shown_bound(const std::string& metric, const std::optional<double>& si) {
  return si ? std::optional(shown_value(metric, *si)) : std::nullopt;
}

int decimals_of(const std::string& metric) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  return facts == nullptr ? 2 : facts->decimals + 1;
}

// A text that no longer loads is told as a change without a metric.
bool is_unreadable(const std::vector<LimitChange>& changes, std::int64_t version) {
  return std::ranges::any_of(changes, [&](const LimitChange& change) {
    return change.version == version && change.metric.empty();
  });
}

// Every version of the set, each with the limit on the metric that it said or left as it was; one
// that can no longer be read is empty.
std::vector<reports::LimitStep> steps_of(const LimitVersions& versions,
                                         const std::vector<LimitChange>& changes,
                                         const std::string& metric) {
  std::vector<reports::LimitStep> steps;
  reports::LimitStep held;
  for (const schema::Definition& version : versions) {
    const std::string name = version_name(version.version, version.at.utc_ms);
    if (is_unreadable(changes, version.version)) {
      steps.push_back({.name = name});
      continue;
    }
    for (const LimitChange& change : changes) {
      if (change.version != version.version || change.metric != metric) continue;
      held.lower = change.limit ? shown_bound(metric, change.limit->lower) : std::nullopt;
      held.upper = change.limit ? shown_bound(metric, change.limit->upper) : std::nullopt;
    }
    held.name = name;
    steps.push_back(held);
  }
  return steps;
}

// The newest version is in force, also one that changed no limit.
std::string limits_sentence(const schema::Definition& newest, bool readable,
                            const std::string& model) {
  const std::string version =
      "Version " + std::to_string(newest.version) + " of the limits of model " + model;
  const std::string accepted = "accepted by " + newest.by +
                               (newest.second_by.empty() ? "" : ", " + newest.second_by) +
                               " (names as claimed)";
  const std::string since = date_and_minute(newest.at.utc_ms);
  if (readable) return version + " is in force since " + since + ", " + accepted + ".";
  return version + ", " + since + ", " + accepted +
         ", can no longer be read; its limits are not drawn.";
}

reports::AnswerPart drawn_limits(const LimitVersions& versions,
                                 const std::vector<LimitChange>& changes,
                                 const std::string& metric) {
  reports::AnswerPart part{.heading = metric_name(metric)};
  const auto steps = steps_of(versions, changes, metric);
  if (std::ranges::none_of(steps, [](const auto& step) { return step.lower || step.upper; })) {
    part.words = {"No version held a limit on this metric."};
    return part;
  }
  part.words = {"Shaded: inside the limits, by version of the set. Guard bands are not drawn."};
  part.drawings.push_back(
      draw(reports::LimitSteps{.description = "Limits on " + metric_name(metric) + " by version.",
                               .quantity = metric_unit(metric),
                               .steps = steps,
                               .decimals = decimals_of(metric)}));
  return part;
}

// "class A: fad_600" stands for the limit of a class.
std::string name_of_limit(const std::string& metric) {
  if (metric.empty()) return "";
  const ClassAndMetric named = class_and_metric(metric);
  return (named.in_class.empty() ? "" : "Class " + named.in_class + ": ") +
         metric_name(named.metric);
}

reports::AnswerPart every_change(const std::vector<LimitChange>& changes) {
  reports::AnswerPart part{
      .heading = "Every change, newest first",
      .words = {"A limit stands here only where a version differs from the one before. Names are "
                "claimed, not proven. u: standard uncertainty of a value; a band of 1.645 u keeps "
                "a value off its limit by that much."}};
  part.table.columns = {"Version", "Accepted", "By (claimed)", "Why", "Metric", "Limit"};
  part.table.text_columns = part.table.columns.size();
  for (const LimitChange& change : std::views::reverse(changes))
    part.table.rows.push_back({std::to_string(change.version), date_and_minute(change.at_utc_ms),
                               names_of(change), change.why, name_of_limit(change.metric),
                               words_of(change)});
  return part;
}

double units_of_a_batch(const ControlFacts& facts) {
  return static_cast<double>(facts.from.tests) / facts.limits.batches;
}

std::string rules_in_words(const ControlFacts& facts) {
  std::string words;
  for (const statistics::ControlRule rule : facts.rules.list())
    words += (words.empty() ? "" : "; ") + rule_words(rule);
  return words;
}

std::vector<std::string> control_cells(const FrozenText& text) {
  const schema::Definition& made = text.version;
  std::vector<std::string> cells{std::to_string(made.version), date_and_minute(made.at.utc_ms),
                                 made.by, made.why};
  if (!text.facts) {
    cells.insert(cells.begin(), made.subject);
    cells.emplace_back("this text can no longer be read");
    return cells;
  }
  const ControlFacts& facts = *text.facts;
  const double half = statistics::kOutside * facts.limits.sigma_of_mean(units_of_a_batch(facts));
  cells.insert(cells.begin(),
               metric_name(facts.metric) + (facts.bench.empty() ? "" : ", bench " + facts.bench));
  for (std::string word :
       {facts.from.first_batch + " to " + facts.from.last_batch, std::to_string(facts.from.tests),
        level_words(facts.metric, facts.limits.centre, 1),
        level_number(facts.metric, facts.limits.centre - half, 1) + " to " +
            level_words(facts.metric, facts.limits.centre + half, 1),
        words_of_run_length(facts.run_length), rules_in_words(facts)})
    cells.push_back(std::move(word));
  return cells;
}

// By subject, so that one drawing shows the versions of one bench or of all.
std::vector<reports::AnswerPart> drawn_control(const std::vector<FrozenText>& texts,
                                               const std::string& metric) {
  std::vector<std::string> subjects;
  std::vector<reports::LimitSteps> charts;
  for (const FrozenText& text : texts) {
    if (!text.facts || text.facts->metric != metric) continue;
    const ControlFacts& facts = *text.facts;
    auto known = std::ranges::find(subjects, text.version.subject);
    if (known == subjects.end()) {
      subjects.push_back(text.version.subject);
      charts.push_back({.description = metric_name(metric) +
                                       (facts.bench.empty() ? "" : ", bench " + facts.bench),
                        .quantity = metric_unit(metric),
                        .decimals = decimals_of(metric)});
      known = subjects.end() - 1;
    }
    const double half = statistics::kOutside * facts.limits.sigma_of_mean(units_of_a_batch(facts));
    charts[static_cast<std::size_t>(known - subjects.begin())].steps.push_back(
        {.name = version_name(text.version.version, text.version.at.utc_ms),
         .lower = shown_value(metric, facts.limits.centre - half),
         .upper = shown_value(metric, facts.limits.centre + half),
         .middle = shown_value(metric, facts.limits.centre)});
  }
  std::vector<reports::AnswerPart> parts;
  for (const reports::LimitSteps& chart : charts)
    parts.push_back(
        {.heading = chart.description,
         .words = {"Thick: centre. Shaded: where the mean of a batch of usual size lies "
                   "when nothing moves."},
         .drawings = {draw(chart)}});
  return parts;
}

}  // namespace

ClassAndMetric class_and_metric(const std::string& told) {
  constexpr std::string_view kClass = "class ", kThen = ": ";
  const std::size_t at = told.rfind(kThen);
  if (!told.starts_with(kClass) || at == std::string::npos) return {"", told};
  return {told.substr(kClass.size(), at - kClass.size()), told.substr(at + kThen.size())};
}

reports::QuestionForm limits_form(const std::string& address, const TestsAsked& asked,
                                  const TestsKnown& known) {
  reports::QuestionForm form{.action = address, .button = "Show"};
  form.fields.push_back({.name = "model", .caption = "Model", .value = asked.model});
  for (const std::string& model : known.models)
    form.fields.back().choices.push_back({model, model});
  form.fields.push_back(metric_field(asked.metric));
  return form;
}

reports::AnswerPage limits_page_of(const LimitVersions& versions,
                                   const std::vector<LimitChange>& changes, const TestsAsked& asked,
                                   reports::QuestionForm form) {
  const schema::Definition& newest = versions.back();
  const bool readable = !is_unreadable(changes, newest.version);
  return {.here = "Population",
          .heading = "Limits of model " + asked.model,
          .form = std::move(form),
          .statements = {limits_sentence(newest, readable, asked.model)},
          .parts = {drawn_limits(versions, changes, asked.metric), every_change(changes)}};
}

reports::AnswerPage control_page_of(const std::vector<FrozenText>& texts, const TestsAsked& asked,
                                    reports::QuestionForm form) {
  reports::AnswerPage page{.here = "Trends",
                           .heading = "Frozen control limits of model " + asked.model,
                           .form = std::move(form),
                           .statements = {counted(texts.size(), "version") +
                                          " of control limits. Control limits say "
                                          "what is usual, not what a customer needs."},
                           .parts = drawn_control(texts, asked.metric)};
  if (page.parts.empty())
    page.statements.push_back("None was frozen for " + metric_name(asked.metric) + ".");
  reports::AnswerPart all{.heading = "Every version, oldest first",
                          .words = {"Names are claimed, not proven."}};
  all.table.columns = {
      "Metric",       "Version", "Frozen", "By (claimed)",           "Why",
      "From batches", "Tests",   "Centre", "Limits of a batch mean", "One false signal in",
      "Rules"};
  all.table.text_columns = all.table.columns.size();
  for (const FrozenText& text : texts) all.table.rows.push_back(control_cells(text));
  page.parts.push_back(std::move(all));
  return page;
}

}  // namespace endgate::daemon
