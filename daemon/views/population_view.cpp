#include "daemon/views/population_view.h"

#include <algorithm>

#include "analysis/reason_codes.h"
#include "analysis/say_number.h"
#include "daemon/queries/population_words.h"
#include "daemon/views/draft_view.h"
#include "daemon/views/gauge_view.h"
#include "daemon/views/limits_view.h"
#include "daemon/views/rating_view.h"
#include "daemon/views/returns_view.h"
#include "daemon/views/risk_view.h"
#include "daemon/views/shown.h"
#include "daemon/views/trend_words.h"

namespace endgate::daemon {
namespace {

reports::IndexWords index_words(const std::optional<statistics::Index>& index) {
  if (!index) return {};
  return {reports::fixed(index->value, 2), reports::fixed(index->interval.low, 2) + " to " +
                                               reports::fixed(index->interval.high, 2)};
}

reports::IndexWords percentile_words(const CapabilityTold& told) {
  if (!told.percentile) return {};
  const bool by_order = told.form == statistics::Percentiles::Form::order;
  const std::string how = by_order ? "by order of the values" : "by a skew form";
  return {reports::fixed(*told.percentile, 2), how + (told.skew ? ": this counts" : "")};
}

std::string proposal_words(const CapabilityTold& told, const std::string& metric) {
  std::string words;
  if (told.proposed_lower) words = "above " + level_number(metric, *told.proposed_lower, 1);
  if (told.proposed_lower && told.proposed_upper) words += " and ";
  if (told.proposed_upper) words += "below " + level_number(metric, *told.proposed_upper, 1);
  if (told.skew) words += words.empty() ? "none: skew, too few" : ", by order";
  return words;
}

std::optional<reports::Ruler> ruler_of_fit(const CapabilityTold& told, const std::string& metric) {
  if (!told.bounds.lower && !told.bounds.upper) return std::nullopt;
  HeldLimit held{.metric = metric, .lower = told.bounds.lower, .upper = told.bounds.upper};
  held.value = told.mean;
  held.u = 1.5 * told.sigma_overall;  // a ruler's whisker is 2 u
  return ruler_of(held, 140);
}

reports::FitRow fit_row(const CapabilityTold& told, const TestsAsked& asked) {
  const std::string metric(told.metric->id);
  TestsAsked trend = asked;
  trend.metric = metric;
  const HeldLimit held{.metric = metric, .lower = told.bounds.lower, .upper = told.bounds.upper};
  return {.metric = metric_name(metric),
          .href = address_of("/trends", trend),
          .units = reports::fixed(static_cast<double>(told.values.size()), 0),
          .mean = level_words(metric, told.mean, 1),
          .inside_batches = size_number(metric, told.sigma_within),
          .over_all = size_number(metric, told.sigma_overall),
          .limits = limit_words(held),
          .ruler = ruler_of_fit(told, metric),
          .room_inside = index_words(told.centred_within),
          .room_all = index_words(told.centred_overall),
          .width_inside = index_words(told.spread_within),
          .width_all = index_words(told.spread_overall),
          .by_percentiles = percentile_words(told),
          .proposal = proposal_words(told, metric)};
}

bool has_scatter(const CapabilityTold& told) { return told.sigma_within > 0; }

// What counts when values are skew is not the normal form.
double room_of(const CapabilityTold& told) {
  return told.skew && told.percentile ? *told.percentile : told.centred_overall->value;
}

std::string least_room(const std::vector<CapabilityTold>& all) {
  const CapabilityTold* least = nullptr;
  for (const CapabilityTold& each : all)
    if (has_scatter(each) && each.centred_overall &&
        (least == nullptr || room_of(each) < room_of(*least)))
      least = &each;
  if (least == nullptr) return "No metric has ten units that differ and a limit yet.";
  return "Least room: " + metric_name_brief(std::string(least->metric->id)) + ", its limit lies " +
         reports::fixed(3 * room_of(*least), 1) + " standard deviations from the middle" +
         (least->skew ? ", allowing for its skew form" : "") +
         (room_of(*least) < 1 ? ", less than 3." : ".");
}

// "Far from all others and left out of Speed, 600 kPa: QH2648-0003-M (5 r/min)."
std::string left_out_words(const CapabilityTold& told) {
  constexpr std::size_t kNamed = 10;
  const std::string metric(told.metric->id);
  std::string text = "Far from all others and left out of " + metric_name_brief(metric) + ": ";
  for (std::size_t i = 0; i < std::min(kNamed, told.left_out.size()); ++i)
    text += (i == 0 ? "" : ", ") + told.left_out[i].serial + " (" +
            level_words(metric, told.left_out[i].value, 0) + ")";
  if (told.left_out.size() > kNamed)
    text += " and " + std::to_string(told.left_out.size() - kNamed) + " more";
  text += ".";
  if (told.centred_with_all)
    text += " With them the room, all scatter, would be " +
            reports::fixed(*told.centred_with_all, 2) + ".";
  return text;
}

std::vector<reports::ShareRow> share_rows(const YieldTold& yield) {
  std::vector<reports::ShareRow> rows{{"Passed at the first test", share_words(yield.first_pass)},
                                      {"Passed at the last test", share_words(yield.final_pass)},
                                      {"Undecided at the first test", share_words(yield.undecided)},
                                      {"Tested again", share_words(yield.retested)},
                                      {"Void tests", share_words(yield.void_tests)}};
  if (yield.passed_after_fail.of > 0)
    rows.push_back(
        {"Failed first and passed later without a repair", share_words(yield.passed_after_fail)});
  return rows;
}

reports::ShareBar bar_of(std::string name, const Share& share) {
  const statistics::Interval interval = share.interval();
  return {std::move(name), share.value(), interval.low, interval.high, share_words(share)};
}

void add_reasons(reports::PopulationPage& page, const YieldTold& yield) {
  const std::int64_t others = yield.first_pass.of - yield.first_pass.count;
  page.reasons_words = counted(static_cast<std::size_t>(others), "unit") +
                       " did not pass at the first test. Bar: share of them, whisker: its 95 % "
                       "interval.";
  for (const YieldTold::Reason& reason : yield.reasons)
    page.reasons.push_back(bar_of(reason_words(reason.code, reason.subject), reason.units));
}

void add_causes(reports::PopulationPage& page, const FailCauses& causes) {
  page.causes_words =
      counted(static_cast<std::size_t>(causes.failed), "unit") + " failed at the first test.";
  if (causes.looked_at < causes.failed)
    page.causes_words += " Counted are the newest " + std::to_string(causes.looked_at) + ".";
  for (const FailCauses::Named& named : causes.causes)
    page.causes.push_back(bar_of(
        named.cause.empty() ? "no cause stated" : analysis::capitalised(named.cause), named.units));
}

std::vector<std::string> stop_sentences(const YieldTold& yield) {
  std::vector<std::string> sentences;
  for (const YieldTold::Stops& stops : yield.stops)
    if (stops.stopped.count > 0)
      sentences.push_back(analysis::capitalised(stops_of_whom(stops)) + ": " +
                          share_words(stops.stopped) + " of the tests; in " +
                          std::to_string(stops.would_have_failed.count) +
                          " of them a limit was already broken.");
  if (std::string why = shifts_words(yield); !why.empty()) sentences.push_back(std::move(why));
  return sentences;
}

}  // namespace

reports::QuestionForm population_form(const TestsAsked& asked, const TestsKnown& known) {
  return {.action = kPopulationAddress,
          .fields = fields_of(asked, known),
          .kept = {{"metric", asked.metric}}};
}

reports::PopulationPage population_page_of(const PopulationTold& told) {
  reports::PopulationPage page;
  page.heading = "All units of model " + told.asked.model;
  page.form = population_form(told.asked, told.known);
  if (told.returns) page.form.kept.push_back({"returns", "shown"});
  page.statements = {
      told.yield.first_pass.of == 0
          ? "No production unit of " + told.asked.model + " matches: " + words_of(told.asked) + "."
          : "Passed at the first test: " + share_words(told.yield.first_pass) + ".",
      least_room(told.capabilities)};
  for (const CapabilityTold& each : told.capabilities)
    if (has_scatter(each)) page.fits.push_back(fit_row(each, told.asked));
  for (const CapabilityTold& each : told.capabilities)
    if (!each.left_out.empty()) page.left_out.push_back(left_out_words(each));
  page.shares = share_rows(told.yield);
  add_reasons(page, told.yield);
  add_causes(page, told.causes);
  page.stops = stop_sentences(told.yield);
  add_draft(page, told);
  if (told.returns)
    page.returns = returns_shown(told.returns->told, told.returns->agreement);
  else
    page.returns_href = address_of(kPopulationAddress, told.asked) + "&returns=shown#returns";
  page.more = {{"How much of it is the measurement?",
                std::string(kGaugeAddress) + "?model=" + address_part(told.asked.model) +
                    "&metric=" + address_part(told.asked.metric)},
               {"What may a data sheet promise?",
                std::string(kRatingAddress) + "?model=" + address_part(told.asked.model)},
               {"How surely is a whole unit judged?",
                std::string(kRiskAddress) + "?model=" + address_part(told.asked.model)},
               {"Limits over time", std::string(kLimitsAddress) +
                                        "?model=" + address_part(told.asked.model) +
                                        "&metric=" + address_part(told.asked.metric)}};
  return page;
}

}  // namespace endgate::daemon
