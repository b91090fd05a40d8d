#include "daemon/views/draft_view.h"

#include <algorithm>

#include "analysis/metric_facts.h"
#include "daemon/definitions/typed_number.h"
#include "daemon/queries/population_words.h"
#include "daemon/views/shown.h"
#include "daemon/views/trend_words.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kChangedListed = 24;

// False: `text` is there and no number.
bool read_number(const std::string& text, std::optional<double>& into) {
  if (text.empty()) return true;
  into = plain_number(text);
  return into.has_value();
}

std::string no_number(const char* which, const std::string& text) {
  return std::string(which) + " \"" + text + "\" is not a number. Write it as 44.5.";
}

reports::QuestionForm form_of(const PopulationTold& told) {
  const std::string unit = metric_unit(told.asked.metric);
  reports::QuestionForm form{.action = std::string(kPopulationAddress) + "#draft",
                             .button = "Show what would change"};
  form.kept = {{"model", told.asked.model},
               {"bench", told.asked.bench},
               {"purpose", told.asked.purpose},
               {"since", told.asked.since}};
  if (!told.asked.until.empty()) form.kept.emplace_back("until", told.asked.until);
  if (!told.asked.batch.empty()) form.kept.emplace_back("batch", told.asked.batch);
  if (!told.asked.lot.empty()) form.kept.emplace_back("lot", told.asked.lot);
  form.fields = {metric_field(told.asked.metric),
                 {.name = "lower",
                  .caption = "At least, " + unit,
                  .value = told.draft.lower,
                  .choices = {},
                  .example = "no lower limit"},
                 {.name = "upper",
                  .caption = "At most, " + unit,
                  .value = told.draft.upper,
                  .choices = {},
                  .example = "no upper limit"}};
  return form;
}

std::string changes_words(const WhatIf& answer) {
  std::string words = std::to_string(answer.changed.count) + " of " +
                      counted(static_cast<std::size_t>(answer.changed.of), "unit") +
                      " would change";
  std::string which;
  for (const auto& [change, count] : answer.from_to)
    which += (which.empty() ? ": " : ", ") + std::to_string(count) + " " + change.first + " to " +
             change.second;
  const statistics::Interval share = answer.changed.interval();
  return words + which + ". Of further units of this kind, " + reports::fixed(100 * share.low, 1) +
         " to " + reports::fixed(100 * share.high, 1) + " % would.";
}

void add_answer(reports::PopulationPage& page, const WhatIf& answer) {
  page.draft_words = {changes_words(answer),
                      "Pass as they were judged: " + share_words(answer.pass_before) +
                          ". Under the draft: " + share_words(answer.pass_after) + ".",
                      near_words(answer) + " of them would clear the draft (k = 2)."};
  if (std::string none = without_limit_words(answer); !none.empty())
    page.draft_words.push_back(std::move(none));
  const std::size_t listed = std::min(kChangedListed, answer.serials.size());
  for (std::size_t i = 0; i < listed; ++i)
    page.changed.emplace_back(answer.serials[i], "/units/" + address_part(answer.serials[i]));
  page.changed_more = answer.serials.size() - listed;
}

using BoundWords = std::pair<const char*, std::optional<double>>;

void add_bounds(reports::Histogram& histogram, const std::string& metric, bool draft,
                const std::vector<BoundWords>& bounds) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  for (const auto& [words, si] : bounds) {
    if (!si) continue;
    const double at = shown_value(metric, *si);
    histogram.bounds.push_back(
        {.at = at,
         .words = words + reports::bound_text(at, facts == nullptr ? 1 : facts->decimals),
         .draft = draft});
  }
}

void add_histogram(reports::PopulationPage& page, const PopulationTold& told,
                   const DraftLimit& draft) {
  const std::string& metric = told.asked.metric;
  for (const CapabilityTold& each : told.capabilities) {
    if (each.metric->id != metric) continue;
    reports::Histogram histogram{.quantity = metric_name(metric) + ", " + metric_unit(metric)};
    for (const double value : each.values) histogram.values.push_back(shown_value(metric, value));
    histogram.description =
        counted(each.values.size(), "unit") + " against the limits of " + metric_name_brief(metric);
    add_bounds(histogram, metric, false,
               {{"at least ", each.bounds.lower}, {"at most ", each.bounds.upper}});
    add_bounds(histogram, metric, true,
               {{"draft: at least ", draft.lower}, {"draft: at most ", draft.upper}});
    page.histogram = std::move(histogram);
  }
}

}  // namespace

DraftRead read_draft(const std::string& metric, const DraftAsked& draft) {
  DraftRead read{.limit = {.metric = metric}};
  if (!read_number(draft.lower, read.limit.lower))
    read.wrong = no_number("At least", draft.lower);
  else if (!read_number(draft.upper, read.limit.upper))
    read.wrong = no_number("At most", draft.upper);
  else if (read.limit.lower && read.limit.upper && *read.limit.lower >= *read.limit.upper)
    read.wrong = "At least " + draft.lower + " leaves nothing below at most " + draft.upper + ".";
  if (!read.wrong.empty()) return {.limit = {.metric = metric}, .wrong = read.wrong};
  const analysis::MetricFacts* facts = analysis::facts_of_metric(metric);
  for (std::optional<double>* bound : {&read.limit.lower, &read.limit.upper})
    if (facts != nullptr && *bound) *bound = (**bound - facts->offset) / facts->factor;
  return read;
}

void add_draft(reports::PopulationPage& page, const PopulationTold& told) {
  page.draft = form_of(told);
  page.draft_refusal = told.draft_wrong;
  const DraftRead read = read_draft(told.asked.metric, told.draft);
  if (told.answer)
    add_answer(page, *told.answer);
  else if (told.draft_wrong.empty() && !told.draft.empty())
    page.draft_refusal = "No test of " + told.asked.model + " that matches has a value of " +
                         metric_name_brief(told.asked.metric) + ".";
  add_histogram(page, told, read.limit);
}

}  // namespace endgate::daemon
