#include "analysis/grade_sentence.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "analysis/grade_words.h"
#include "analysis/health_next_step.h"
#include "analysis/limit_subject.h"
#include "analysis/reason_codes.h"
#include "analysis/say_number.h"

namespace endgate::analysis {
namespace {

// A metric and its bounds in the unit it is said in, and the places to say them with.
struct Said {
  Words words;
  double value = 0;
  std::optional<double> expanded;
  int base_places = 0;  // by the uncertainty alone
  int places = 0;       // with the digits that show the true side
  bool on_bound = false;
};

std::vector<double> shown_bounds(const LimitOutcome& outcome, const SaidUnit& unit) {
  std::vector<double> bounds;
  if (outcome.lower) bounds.push_back(unit.shown(*outcome.lower));
  if (outcome.upper) bounds.push_back(unit.shown(*outcome.upper));
  return bounds;
}

std::vector<double> acceptance_limits(const LimitOutcome& outcome, const SaidUnit& unit) {
  std::vector<double> limits;
  for (const double lower : {outcome.pass_band, -outcome.fail_band})
    if (outcome.lower) limits.push_back(unit.shown(*outcome.lower + lower));
  for (const double upper : {-outcome.pass_band, outcome.fail_band})
    if (outcome.upper) limits.push_back(unit.shown(*outcome.upper + upper));
  return limits;
}

// GS-2.  A value exactly on an acceptance limit needs no digits: the bound itself passes.
void choose_places(const LimitOutcome& outcome, Said& said) {
  const SaidUnit& unit = said.words.unit;
  const std::optional<int> apart =
      places_apart(said.value, said.base_places, shown_bounds(outcome, unit));
  said.on_bound = !apart;
  said.places = apart.value_or(said.base_places + kExtraPlaces);
  for (const double limit : acceptance_limits(outcome, unit))
    if (const std::optional<int> places =
            places_apart(said.value, said.base_places, std::array{limit}))
      said.places = std::max(said.places, *places);
}

Said said_of(const Metric& metric, const LimitOutcome& outcome) {
  Said said;
  said.words = words_of_metric(metric.id);
  const SaidUnit& unit = said.words.unit;
  said.value = unit.shown(*metric.value);
  if (metric.u && std::isfinite(*metric.u) && *metric.u > 0)
    said.expanded = kSaidCoverage * *metric.u * std::abs(unit.factor);
  said.base_places = places_for(said.expanded.value_or(0), unit.decimals);
  choose_places(outcome, said);
  return said;
}

std::string name_of_metric(const Metric& metric) {
  return capitalised(words_of_metric(metric.id).name) +
         (metric.extrapolated ? " (extrapolated)" : "");
}

// "Flow at 400 kPa is 42.1 ± 0.6 L/min", "Current at 600 kPa against flow at 600 kPa is 0.9 ± 0.3 A
// off its line"
std::string opening(const Metric& metric, const Said& said) {
  const SaidUnit& unit = said.words.unit;
  const std::string value = say_number(said.value, said.places);
  const std::string head = name_of_metric(metric) + " is ";
  const std::string tail = relation_in(metric.id) ? " off its line" : "";
  if (!said.expanded) return head + with_unit(value, unit) + tail + ", uncertainty not known";
  return head + value + " \u00B1 " + with_unit(say_number(*said.expanded, said.places), unit) +
         tail;
}

// " (guard band 0.5 L/min)"
std::string guard_clause(double band, const SaidUnit& unit) {
  const double shown = std::abs(band * unit.factor);
  if (!(shown > 0)) return " (no guard band)";
  const std::string number = say_number(shown, places_for(shown, unit.decimals));
  const std::string size =
      unit.name == "%" ? number + kNoBreakSpace + "points" : difference_with_unit(number, unit);
  return (band > 0 ? " (guard band " : " (relaxed by ") + size + ")";
}

// The bound that the sentence speaks of: the broken one, else the nearest.
bool speaks_of_lower(const LimitOutcome& outcome, double value_si) {
  if (!outcome.lower || !outcome.upper) return outcome.lower.has_value();
  return value_si - *outcome.lower <= *outcome.upper - value_si;
}

std::string limit_clause(const LimitOutcome& outcome, const Said& said, bool lower) {
  const bool both = outcome.lower && outcome.upper;
  const SaidUnit& unit = said.words.unit;
  const double bound = unit.shown(lower ? *outcome.lower : *outcome.upper);
  const std::string kind = !both ? "limit" : lower ? "lower limit" : "upper limit";
  return "its " + kind + " of " + with_unit(say_bound(bound, said.base_places), unit);
}

std::string distance_clause(const LimitOutcome& outcome, const Said& said, bool lower) {
  const double bound = said.words.unit.shown(lower ? *outcome.lower : *outcome.upper);
  const std::string side = said.value < bound ? "below " : "above ";
  if (said.on_bound) return outcome.verdict == Verdict::fail ? "just " + side : "at ";
  const std::string gap = say_number(std::abs(said.value - bound), said.places);
  return difference_with_unit(gap, said.words.unit) + " " + side;
}

std::string two_sided_clause(const LimitOutcome& outcome, const Said& said) {
  const SaidUnit& unit = said.words.unit;
  return say_bound(unit.shown(*outcome.lower), said.base_places) + " to " +
         with_unit(say_bound(unit.shown(*outcome.upper), said.base_places), unit);
}

std::string known_sentence(const Metric& metric, const HeldLimit& held) {
  const LimitOutcome& outcome = held.outcome;
  const Said said = said_of(metric, outcome);
  const SaidUnit& unit = said.words.unit;
  if (held.code == reason::no_uncertainty) return opening(metric, said) + ".";
  if (!outcome.margin) return opening(metric, said) + "; no bound is set.";
  if (held.code == reason::no_room)
    return opening(metric, said) + ": uncertainty too large for its limits " +
           two_sided_clause(outcome, said) + guard_clause(outcome.pass_band, unit) + ".";
  const bool lower = speaks_of_lower(outcome, *metric.value);
  const std::string limit = limit_clause(outcome, said, lower);
  if (held.code == reason::too_near_limit)
    return opening(metric, said) + ", too near " + limit + " to say" +
           guard_clause(outcome.pass_band, unit) + ".";
  const bool failed = outcome.verdict == Verdict::fail;
  return opening(metric, said) + ", " + distance_clause(outcome, said, lower) + limit +
         guard_clause(failed ? outcome.fail_band : outcome.pass_band, unit) + ".";
}

std::string say_channel(double si, const SaidUnit& unit) {
  return with_unit(say_number(unit.shown(si), unit.decimals), unit);
}

struct HealthWords {
  HealthState state;
  std::string_view words;
};
constexpr std::array<HealthWords, 13> kHealthWords{{
    {HealthState::good, "is good"},
    {HealthState::missing, "is not in the trace"},
    {HealthState::silent, "was silent"},
    {HealthState::no_value, "had no value"},
    {HealthState::out_of_range, "was out of range"},
    {HealthState::stuck, "was stuck"},
    {HealthState::too_fast, "changed too fast"},
    {HealthState::time_sick, "had a sick clock"},
    {HealthState::spiky, "was full of odd samples"},
    {HealthState::noisy, "was too noisy"},
    {HealthState::zero_shift, "was off its zero"},
    {HealthState::jumped, "jumped to another level"},
    {HealthState::implausible, "contradicts other channels"},
}};

constexpr std::array<std::string_view, 12> kBreakOffWords{
    "the test was not broken off",    "a channel was silent",
    "the link to the bench was lost", "the cover was opened",
    "the emergency stop was pressed", "a person stopped the test",
    "the bench clock went wrong",     "the bench opened the motor relay by itself",
    "the bench refused a command",    "the service restarted during the test",
    "a start condition was missing",  "the service ended the test",
};

// Far below its floor: nothing turns and, as no second channel agrees, nothing draws current.
bool stands_still(const Trip& trip) {
  constexpr double kStandstill = 0.05;
  return !trip.upper && std::abs(trip.value_si) < kStandstill * std::abs(trip.limit_si);
}

constexpr const char* kNotJudged = ". The unit was not judged.";

}  // namespace

std::string sentence_of(const Metric& metric, const HeldLimit& held) {
  if (held.code != reason::metric_missing) return known_sentence(metric, held);
  if (metric.missing_reason.empty()) return name_of_metric(metric) + " was not measured.";
  return name_of_metric(metric) + " is missing: " + metric.missing_reason + ".";
}

std::string sentence_of(const BenchFacts& bench, const ChannelHealth& health) {
  const std::string name = capitalised(words_of_channel(bench, health.channel_id).name);
  const std::string next = kNotJudged + (" " + std::string(next_step_of(health.state)));
  if (!health.detail.empty()) return name + ": " + health.detail + next;
  const HealthWords& words = kHealthWords[static_cast<std::size_t>(health.state)];
  return name + " " + std::string(words.words) + next;
}

std::string sentence_of(const BenchFacts& bench, const Trip& trip, bool confirmed) {
  const Words words = words_of_channel(bench, trip.channel_id);
  const std::string head = capitalised(words.name) + " was " +
                           say_channel(trip.value_si, words.unit) + ", " +
                           (trip.upper ? "above" : "below") + " its trip limit of " +
                           say_channel(trip.limit_si, words.unit);
  if (trip.accuses == TripAccuses::bench) return head + "; this accuses the bench.";
  if (!confirmed)
    return head + "; no second channel confirms it." +
           (stands_still(trip) ? " Is a unit clamped and its plug in?" : "");
  return head + "; " + words_of_channel(bench, trip.confirmed_by).name + " agrees.";
}

std::string sentence_of_break_off(const RawTrace& trace) {
  const auto words = kBreakOffWords[static_cast<std::size_t>(trace.break_off)];
  const std::string text =
      trace.break_off_detail.empty() ? std::string(words) : trace.break_off_detail;
  return capitalised(text) + kNotJudged;
}

}  // namespace endgate::analysis
