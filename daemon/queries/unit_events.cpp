#include "daemon/queries/unit_events.h"

#include <algorithm>

#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

std::string with(const std::string& before, const std::string& text) {
  return text.empty() ? "" : before + text;
}

std::string words_of(const schema::Lots& lots) {
  std::string words;
  for (const schema::PartLot& part : lots.parts)
    words += (words.empty() ? "" : ", ") + part.part + " " + part.lot;
  return words + (lots.subject_kind == "batch" ? " (batch " + lots.subject + ")" : "");
}

std::string words_of(const schema::ReturnIntake& intake) {
  std::string words = intake.complaint + with("; as received: ", intake.condition);
  if (intake.months_in_use)
    words += "; " + analysis::say_number(*intake.months_in_use, 0) + " months in use";
  if (intake.hours_in_use) words += "; " + analysis::say_number(*intake.hours_in_use, 0) + " hours";
  return words;
}

std::string words_of(const schema::Repair& repair) {
  return repair.finding + with("; replaced: ", repair.parts);
}

std::string words_of(const schema::Disposition& decision) {
  return decision.decision + ": " + decision.reason + with("; with ", decision.second_by);
}

std::string words_of(const schema::MetricValue& metric, const analysis::MetricFacts& facts) {
  const double shown = *metric.value * facts.factor + facts.offset;
  const double expanded = 2 * metric.u.value_or(0) * facts.factor;
  const int places = analysis::places_for(expanded, facts.decimals);
  return std::string(facts.sentence_name) + " " + analysis::say_number(shown, places) +
         (expanded > 0 ? " ± " + analysis::say_number(expanded, places) : "") + " " +
         std::string(facts.display_unit);
}

// "2019-06-08, old bench: pass; flow at 400 kPa 54.6 L/min (from paper book 2019, line 2)"
std::string words_of(const schema::ImportedTest& test) {
  std::string words =
      csv_utc(test.tested_utc_ms).substr(0, 10) + with(", ", test.bench) + with(": ", test.verdict);
  for (const schema::MetricValue& metric : test.metrics)
    if (const auto* facts = analysis::facts_of_metric(metric.id); facts != nullptr && metric.value)
      words += "; " + words_of(metric, *facts);
  return words + " (from " + test.source + ", line " + std::to_string(test.line) + ")";
}

template <class Fact>
void add(std::vector<UnitEvent>& events, schema::Position position, const Fact& fact,
         const std::string& what) {
  events.push_back({.position = position,
                    .utc_ms = fact.at.utc_ms,
                    .what = what,
                    .words = words_of(fact),
                    .by = fact.by});
}

}  // namespace

std::vector<UnitEvent> events_of(const UnitHistory& unit) {
  std::vector<UnitEvent> events;
  for (const auto& [position, lots] : unit.lots) add(events, position, lots, "lots");
  for (const auto& [position, intake] : unit.returns) add(events, position, intake, "return");
  for (const auto& [position, repair] : unit.repairs) add(events, position, repair, "repair");
  for (const auto& [position, made] : unit.decisions) add(events, position, made, "decision");
  for (const auto& [position, test] : unit.imported) add(events, position, test, "imported test");
  std::ranges::sort(events, {}, &UnitEvent::position);
  return events;
}

std::string serial_known_as(const schema::StoreReader& store, const std::string& number) {
  if (store.last_attempt(number) > 0) return number;
  std::string found = number;
  for (const auto& [position, lots] : store.lots_with(number))
    if (lots.subject_kind == "unit") found = lots.subject;
  return found;
}

}  // namespace endgate::daemon
