#include "daemon/queries/population_words.h"

#include <algorithm>

#include "analysis/reason_codes.h"
#include "analysis/say_number.h"

namespace endgate::daemon {
namespace {

using analysis::say_number;

std::string index_words(const statistics::Index& index) {
  return say_number(index.value, 2) + " (" + say_number(index.interval.low, 2) + " to " +
         say_number(index.interval.high, 2) + ")";
}

std::string in_unit(const analysis::MetricFacts& facts, double si, int more = 1) {
  return say_number(si * facts.factor + facts.offset, facts.decimals + more) + "\u00A0" +
         std::string(facts.display_unit);
}

std::string size_in_unit(const analysis::MetricFacts& facts, double si) {
  return say_number(si * facts.factor, facts.decimals + 1) + "\u00A0" +
         std::string(facts.display_unit);
}

std::string subject_words(const std::string& subject) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(subject);
  return facts == nullptr ? subject : std::string(facts->sentence_name);
}

void add_far_units(std::vector<std::string>& words, const CapabilityTold& told) {
  if (told.left_out.empty()) return;
  constexpr std::size_t kNamed = 10;
  std::string text;
  for (std::size_t i = 0; i < std::min(kNamed, told.left_out.size()); ++i)
    text += (i == 0 ? "" : ", ") + told.left_out[i].serial + " (" +
            in_unit(*told.metric, told.left_out[i].value) + ")";
  if (told.left_out.size() > kNamed)
    text += " and " + std::to_string(told.left_out.size() - kNamed) + " more";
  text = "Far from all others and left out of what follows: " + text + ". Look at their tests.";
  if (told.centred_with_all)
    text += " With them the room to the nearer limit, all scatter, would be " +
            say_number(*told.centred_with_all, 2) + ".";
  words.push_back(std::move(text));
}

std::string bounds_words(const CapabilityTold& told) {
  std::string text = "Held against the limits of the newest test: ";
  if (told.bounds.lower) text += "at least " + in_unit(*told.metric, *told.bounds.lower);
  if (told.bounds.lower && told.bounds.upper) text += ", ";
  if (told.bounds.upper) text += "at most " + in_unit(*told.metric, *told.bounds.upper);
  return text + ".";
}

std::string percentile_words(const CapabilityTold& told) {
  const std::string room = say_number(*told.percentile, 2);
  const std::string counts = told.skew ? " The values are skew: this figure counts." : "";
  if (told.form == statistics::Percentiles::Form::order)
    return "By the order of the values, without a form: " + room + "." + counts;
  return "By percentiles of a skew form with their mean, scatter and skewness: " + room + "." +
         counts;
}

void add_fit(std::vector<std::string>& words, const CapabilityTold& told) {
  if (!told.centred_within) {
    words.emplace_back("No limit was held against this metric yet.");
    return;
  }
  words.push_back(bounds_words(told));
  words.push_back("Room to the nearer limit, scatter inside batches: " +
                  index_words(*told.centred_within) + " (Cpk).");
  words.push_back("Room to the nearer limit, all scatter: " + index_words(*told.centred_overall) +
                  " (Ppk).");
  if (told.spread_within)
    words.push_back(
        "Width of the limits over the scatter, if centred: " + index_words(*told.spread_within) +
        " inside batches (Cp), " + index_words(*told.spread_overall) + " all (Pp).");
  if (told.percentile) words.push_back(percentile_words(told));
}

void add_proposal(std::vector<std::string>& words, const CapabilityTold& told) {
  if (!told.proposed_lower && !told.proposed_upper) {
    if (told.skew)
      words.emplace_back(
          "Between which values 99 % of units lie is not said: the values are skew, and there are "
          "too few units to take it from their order.");
    return;
  }
  std::string text = "99 % of units lie ";
  if (told.proposed_lower) text += "above " + in_unit(*told.metric, *told.proposed_lower);
  if (told.proposed_lower && told.proposed_upper) text += " and ";
  if (told.proposed_upper) text += "below " + in_unit(*told.metric, *told.proposed_upper);
  words.push_back(text +
                  (told.skew ? " (confidence 95 %, by the order of the values, which are skew)"
                             : " (confidence 95 %)") +
                  ". This is what the process does; a limit comes from what the "
                  "customer needs.");
}

}  // namespace

std::string share_words(const Share& share) {
  const statistics::Interval i = share.interval();
  return say_number(100 * share.value(), 1) + " % (" + say_number(100 * i.low, 1) + " to " +
         say_number(100 * i.high, 1) + " %), " + std::to_string(share.count) + " of " +
         std::to_string(share.of);
}

std::vector<std::string> words_of(const CapabilityTold& told) {
  std::vector<std::string> words{
      std::to_string(told.values.size()) + " units in " + std::to_string(told.batches) +
      " batches, first tests" +
      (told.without_batch == 0
           ? std::string(".")
           : "; " + std::to_string(told.without_batch) + " of them of no batch.")};
  add_far_units(words, told);
  if (!(told.sigma_within > 0)) {
    words.emplace_back("Ten units that differ are needed before anything can be said.");
    return words;
  }
  const analysis::MetricFacts& facts = *told.metric;
  words.push_back("Mean " + in_unit(facts, told.mean) + ", standard deviation " +
                  size_in_unit(facts, told.sigma_within) + " inside batches, " +
                  size_in_unit(facts, told.sigma_overall) + " over all.");
  words.push_back("Units of a batch resemble each other: for the intervals they count as " +
                  say_number(told.effective_n, 0) + " independent units.");
  add_fit(words, told);
  add_proposal(words, told);
  return words;
}

std::vector<std::string> words_of(const YieldTold& told) {
  std::vector<std::string> words{
      "Passed at the first test: " + share_words(told.first_pass) + ".",
      "Passed at the last test: " + share_words(told.final_pass) + ".",
      "Undecided at the first test: " + share_words(told.undecided) + ".",
      "Tested again: " + share_words(told.retested) + ".",
      "Void tests: " + share_words(told.void_tests) + "."};
  if (told.passed_after_fail.of > 0)
    words.push_back("Failed first and passed later without a repair: " +
                    share_words(told.passed_after_fail) + ".");
  for (const YieldTold::Reason& reason : told.reasons)
    words.push_back(reason_words(reason.code, reason.subject) + ": " + share_words(reason.units) +
                    ".");
  for (const YieldTold::Stops& stops : told.stops)
    if (stops.stopped.count > 0)
      words.push_back("Stopped by a person on " + stops_of_whom(stops) + ": " +
                      share_words(stops.stopped) + "; of them a limit was already broken in " +
                      std::to_string(stops.would_have_failed.count) + ".");
  if (std::string why = shifts_words(told); !why.empty()) words.push_back(std::move(why));
  return words;
}

std::string stops_of_whom(const YieldTold::Stops& stops) {
  return "bench " + stops.bench + (stops.shift.empty() ? "" : ", shift " + stops.shift) + ", " +
         (stops.person.empty() ? "nobody named" : stops.person);
}

std::string shifts_words(const YieldTold& told) {
  const bool stopped = std::ranges::any_of(
      told.stops, [](const YieldTold::Stops& each) { return each.stopped.count > 0; });
  if (told.shifts_stated || !stopped) return "";
  return "Stops are not told by shift: begins of [shifts] in service.toml says when shifts begin.";
}

std::vector<std::string> words_of(const WhatIf& answer, const std::string& metric) {
  std::vector<std::string> words{"Would change: " + share_words(answer.changed) + " units.",
                                 "Pass before: " + share_words(answer.pass_before) + ".",
                                 "Pass after: " + share_words(answer.pass_after) + "."};
  for (const auto& [change, count] : answer.from_to)
    words.push_back(change.first + " to " + change.second + ": " + std::to_string(count) + ".");
  words.push_back(near_words(answer) + " would clear this limit on " + subject_words(metric) + ".");
  if (std::string none = without_limit_words(answer); !none.empty())
    words.push_back(std::move(none));
  return words;
}

std::string without_limit_words(const WhatIf& answer) {
  if (answer.without_limit == 0) return "";
  return "Of these " + std::to_string(answer.changed.of) + " units " +
         std::to_string(answer.without_limit) + (answer.without_limit == 1 ? " was" : " were") +
         " held against no limit on it then: their verdict stands for all else, and the guard band "
         "is the usual one.";
}

std::string near_words(const WhatIf& answer) {
  const std::string spread = say_number(2 * answer.expected_pass_u, 0);
  return "With each value moved by chance within its uncertainty, " +
         say_number(answer.expected_pass, 0) + (spread == "0" ? "" : " ± " + spread);
}

std::string reason_words(const std::string& code, const std::string& subject) {
  std::string name = subject_words(subject);
  std::ranges::replace(name, '_', ' ');  // a channel
  if (code == analysis::reason::trip_unit) return "Over-limit that accuses the unit: " + name;
  for (const auto& [known, words] : {std::pair<std::string_view, const char*>{
                                         analysis::reason::below_lower, " below its lower limit"},
                                     {analysis::reason::above_upper, " above its upper limit"},
                                     {analysis::reason::too_near_limit, " too near its limit"},
                                     {analysis::reason::metric_missing, " has no value"},
                                     {analysis::reason::no_room, ": no room between its limits"},
                                     {analysis::reason::no_uncertainty, ": uncertainty not known"}})
    if (code == known) return analysis::capitalised(name) + words;
  for (const analysis::ReasonCode& known : analysis::kReasonCodes)
    if (code == known.code)
      return analysis::capitalised(std::string(known.meaning)) + (name.empty() ? "" : ": " + name);
  return name.empty() ? code : code + ", " + name;
}

}  // namespace endgate::daemon
