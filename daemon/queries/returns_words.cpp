#include "daemon/queries/returns_words.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "daemon/queries/csv.h"
#include "daemon/queries/population_words.h"

namespace endgate::daemon {
namespace {

using analysis::say_number;

std::string many(std::int64_t count, const char* one, const char* more) {
  return std::to_string(count) + " " + (count == 1 ? one : more);
}

std::string metric_words(const ReturnsTold::Tells& tells) {
  return analysis::capitalised(std::string(tells.metric->sentence_name)) + ": " +
         ratio_words(tells) + " times as often for one step of rank up, " +
         (tells.told() ? "told" : "not told apart from chance") +
         " (of metrics told at least this clearly, a share of " +
         analysis::say_probability(tells.p_adjusted) + " at most is expected to be chance); " +
         std::to_string(tells.back) + " returns of " + std::to_string(tells.units) + " units.";
}

}  // namespace

std::string back_words(const ReturnsTold& told) {
  if (told.back.of == 0) return "No released unit of " + told.model + " matches.";
  return "Came back of all released units of " + told.model + " by " +
         csv_utc(told.as_of_utc_ms).substr(0, 10) + ": " + share_words(told.back) + ".";
}

std::string left_out_words(const ReturnsTold& told) {
  std::string words;
  if (told.never_passed > 0)
    words = many(told.never_passed, "more unit", "more units") +
            " of this model came back without a passed test kept here before, and count nowhere "
            "below.";
  if (told.not_stated > 0)
    words += (words.empty() ? "" : " ") + std::string("Of ") +
             many(told.not_stated, "return", "returns") +
             " the time in use is not stated; left out of all times.";
  if (told.too_long > 0)
    words += (words.empty() ? "" : " ") + std::string("Of ") +
             many(told.too_long, "return", "returns") +
             " the stated time is longer than the unit is old; left out of all times.";
  if (told.not_stated + told.too_long > 0)
    words += " So more came back than the table and the curve say.";
  return words;
}

std::string out_words(const ReturnsTold& told, double months) {
  const statistics::ShareOut share = share_at(told, months);
  if (told.times_lack())
    return "at most " + say_number(100 * share.share, share.share > 0.99 ? 2 : 1) +
           " %; too many times are missing for an interval";
  if (share.returned == 0) return "100 %, none came back";
  const statistics::Interval interval = statistics::share_interval(share);
  const int places = share.share > 0.99 ? 2 : 1;
  return say_number(100 * share.share, places) + " % (" + say_number(100 * interval.low, places) +
         " to " + say_number(100 * interval.high, places) + " %)";
}

std::string form_words(const ReturnsTold& told) {
  if (!told.form) return "No form of the rate can be told: " + told.no_form + ".";
  const statistics::WeibullFit& form = *told.form;
  std::string words = "Form of the rate (Weibull): shape " + say_number(form.shape, 2) + " (" +
                      say_number(form.shape_95.low, 2) + " to " +
                      say_number(form.shape_95.high, 2) + "): ";
  if (form.shape_95.low > 1)
    words += "the older, the more come back, as with wear.";
  else if (form.shape_95.high < 1)
    words += "the older, the fewer come back, as with faults from the beginning.";
  else
    words += "whether the rate rises or falls with age cannot be told.";
  if (told.timed() < kFewestReturns) words += " Few returns make the shape too large.";
  return words;
}

std::string metrics_words(const ReturnsTold& told) {
  if (told.timed() < kFewestReturns)
    return "Which birth metrics tell who comes back: none can be told with " +
           many(told.timed(), "return", "returns") + " of known time; " +
           std::to_string(kFewestReturns) + " are needed.";
  if (told.compared < kFewestReturns)
    return "Which birth metrics tell who comes back: units are held against those of their own "
           "batch alone, and only " +
           many(told.compared, "return has", "returns have") + " one to be held against; " +
           std::to_string(kFewestReturns) + " are needed.";
  if (told.metrics.empty())
    return told.without_bound.empty() ? "No birth metric scatters and has a value to look at."
                                      : "No birth metric gives a figure.";
  const auto said = std::ranges::count_if(told.metrics, &ReturnsTold::Tells::told);
  return std::to_string(said) + " of " + std::to_string(told.metrics_looked_at) +
         " birth metrics tell who comes back. With " + std::to_string(told.compared) +
         " returns only a metric that changes how often units come back by " +
         say_number(told.least_ratio, 1) +
         " times for one step of rank would be told in 8 of 10 cases. Each unit is held against "
         "those of its own batch alone: what a whole batch has in common, such as a lot of parts, "
         "tells nothing here. Only what passed was released, so a metric that is judged sharply "
         "shows little.";
}

std::string without_bound_words(const ReturnsTold& told) {
  std::string names;
  for (const analysis::MetricFacts* metric : told.without_bound)
    names += (names.empty() ? "" : ", ") + std::string(metric->sentence_name);
  return "At every age those with the least, or the greatest, came back first, so that no figure "
         "can be told: " +
         names + ". Look at it.";
}

std::string ratio_words(const ReturnsTold::Tells& tells) {
  const statistics::Interval interval = tells.step.ratio_95();
  return say_number(tells.step.ratio(), 2) + " (" + say_number(interval.low, 2) + " to " +
         say_number(interval.high, 2) + ")";
}

std::vector<std::string> words_of(const ReturnsTold& told) {
  std::vector<std::string> words{back_words(told)};
  if (told.back.of == 0) return words;
  if (const std::string left_out = left_out_words(told); !left_out.empty())
    words.push_back(left_out);
  words.emplace_back(kReturnsAssume);
  for (const double months : kAgesTold)
    if (at_risk(told, months) > 0)
      words.push_back("Still out after " + say_number(months, 0) +
                      (months == 1 ? " month: " : " months: ") + out_words(told, months) + "; " +
                      many(at_risk(told, months), "unit", "units") + " in use that long.");
  words.push_back(form_words(told));
  words.push_back(metrics_words(told));
  for (const ReturnsTold::Tells& tells : told.metrics) words.push_back(metric_words(tells));
  if (!told.without_bound.empty()) words.push_back(without_bound_words(told));
  return words;
}

}  // namespace endgate::daemon
