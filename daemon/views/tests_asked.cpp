#include "daemon/views/tests_asked.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <cstdint>
#include <ctime>

#include "analysis/metric_facts.h"
#include "daemon/definitions/date.h"
#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

constexpr std::array<const char*, 7> kPurposes{"production", "retest", "reference", "returned",
                                               "lab",        "trial",  kAllPurposes};

std::string listed(const std::vector<std::string>& names) {
  std::string all;
  for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
  return all.empty() ? "none" : all;
}

bool holds(const std::vector<std::string>& names, const std::string& name) {
  return std::ranges::find(names, name) != names.end();
}

std::vector<std::string> metric_ids() {
  std::vector<std::string> ids;
  for (const analysis::MetricFacts& facts : analysis::kMetricFacts) ids.emplace_back(facts.id);
  return ids;
}

std::vector<std::string> purposes() { return {kPurposes.begin(), kPurposes.end()}; }

// When a day begins on the clock of the plant, as pages show it: 23 or 25 h after the one before
// where the clock is changed.
std::int64_t begin_utc_ms(std::chrono::sys_days day) {
  const std::chrono::year_month_day date(day);
  std::tm local{};
  local.tm_year = static_cast<int>(date.year()) - 1900;
  local.tm_mon = static_cast<int>(static_cast<unsigned>(date.month())) - 1;
  local.tm_mday = static_cast<int>(static_cast<unsigned>(date.day()));
  local.tm_isdst = -1;
  return std::int64_t{std::mktime(&local)} * 1000;
}

WrongQuestion no_such(const std::string& what, const std::string& name,
                      const std::vector<std::string>& known) {
  return {404, "There is no " + what + " " + name + " here. There are: " + listed(known) + "."};
}

std::vector<reports::FormChoice> choices_of(const std::vector<std::string>& names) {
  std::vector<reports::FormChoice> choices;
  for (const std::string& name : names) choices.push_back({name, name});
  return choices;
}

}  // namespace

std::optional<WrongQuestion> wrong_with(const TestsAsked& asked, const TestsKnown& known) {
  if (!holds(known.models, asked.model)) return no_such("model", asked.model, known.models);
  if (!asked.metric.empty() && analysis::facts_of_metric(asked.metric) == nullptr)
    return no_such("metric", asked.metric, metric_ids());
  if (!asked.bench.empty() && !holds(known.benches, asked.bench))
    return no_such("bench", asked.bench, known.benches);
  if (!holds(purposes(), asked.purpose)) return no_such("purpose", asked.purpose, purposes());
  for (const auto& [what, day] :
       {std::pair<const char*, const std::string&>{"Since", asked.since}, {"Until", asked.until}})
    if (!day.empty() && !date_of(day))
      return WrongQuestion{
          400, std::string(what) + " \"" + day + "\" is no day. Write it as 2026-02-14."};
  if (!asked.since.empty() && !asked.until.empty() && date_of(asked.until) < date_of(asked.since))
    return WrongQuestion{400, "Until " + asked.until + " lies before since " + asked.since + "."};
  return std::nullopt;
}

TrendFilter filter_of(const TestsAsked& asked) {
  TrendFilter filter{.model = asked.model, .bench = asked.bench, .batch = asked.batch};
  filter.purpose = asked.purpose == kAllPurposes ? "" : asked.purpose;
  filter.lot = asked.lot;
  if (const auto day = date_of(asked.since)) filter.since_utc_ms = begin_utc_ms(*day);
  if (const auto day = date_of(asked.until))
    filter.before_utc_ms = begin_utc_ms(*day + std::chrono::days(1));
  return filter;
}

std::vector<reports::FormField> fields_of(const TestsAsked& asked, const TestsKnown& known) {
  std::vector<reports::FormChoice> benches = choices_of(known.benches);
  benches.insert(benches.begin(), {"", "all"});
  std::vector<reports::FormField> fields{
      {.name = "model",
       .caption = "Model",
       .value = asked.model,
       .choices = choices_of(known.models)},
      {.name = "bench", .caption = "Bench", .value = asked.bench, .choices = benches},
      {.name = "purpose",
       .caption = "Purpose",
       .value = asked.purpose,
       .choices = choices_of(purposes())},
      {.name = "since",
       .caption = "Since",
       .value = asked.since,
       .choices = {},
       .example = "2026-02-14"},
      {.name = "until",
       .caption = "Until",
       .value = asked.until,
       .choices = {},
       .example = "2026-02-14"}};
  fields.push_back(
      {.name = "batch", .caption = "Batch", .value = asked.batch, .choices = {}, .example = "all"});
  fields.push_back(
      {.name = "lot", .caption = "Lot", .value = asked.lot, .choices = {}, .example = "all"});
  return fields;
}

reports::FormField metric_field(const std::string& metric) {
  reports::FormField field{.name = "metric", .caption = "Metric", .value = metric};
  for (const std::string& id : metric_ids()) field.choices.push_back({id, metric_name_brief(id)});
  return field;
}

std::string address_of(const std::string& page, const TestsAsked& asked) {
  std::string address = page + "?model=" + address_part(asked.model) +
                        "&metric=" + address_part(asked.metric) +
                        "&purpose=" + address_part(asked.purpose);
  for (const auto& [name, value] :
       {std::pair<const char*, const std::string&>{"bench", asked.bench},
        {"batch", asked.batch},
        {"since", asked.since},
        {"until", asked.until},
        {"lot", asked.lot}})
    if (!value.empty()) address += std::string("&") + name + "=" + address_part(value);
  return address;
}

std::string words_of(const TestsAsked& asked) {
  std::string words = asked.purpose == kAllPurposes ? "all purposes" : "purpose " + asked.purpose;
  if (!asked.bench.empty()) words += ", bench " + asked.bench;
  if (!asked.batch.empty()) words += ", batch " + asked.batch;
  if (!asked.since.empty()) words += ", since " + asked.since;
  if (!asked.until.empty()) words += ", until " + asked.until;
  if (!asked.lot.empty()) words += ", lot " + asked.lot;
  return words;
}

}  // namespace endgate::daemon
