#include "daemon/queries/entry_told.h"

#include <cmath>

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
    words += (words.empty() ? "" : ", ") + spelled(part.part) + " " + part.lot;
  return words + (lots.subject_kind == "batch" ? " (batch " + lots.subject + ")" : "");
}

// A person says whole months or a half, and whole hours.
std::string as_entered(double number) {
  return analysis::say_number(number, number == std::round(number) ? 0 : 1);
}

std::string words_of(const schema::ReturnIntake& intake) {
  std::string words = intake.complaint + with("; as received: ", intake.condition);
  if (intake.months_in_use) words += "; " + as_entered(*intake.months_in_use) + " months in use";
  if (intake.hours_in_use) words += "; " + as_entered(*intake.hours_in_use) + " hours";
  return words;
}

std::string words_of(const schema::Repair& repair) {
  return spelled(repair.finding) + with("; replaced: ", spelled(repair.parts));
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

std::string words_of(const schema::BenchCheck& check) {
  return spelled(check.kind) + with(" ", spelled(check.subject)) + with(": ", check.text);
}

using Told = std::optional<EntryTold>;

template <class Fact>
EntryTold told(const Fact& fact, const char* what, const std::string& of) {
  return {.utc_ms = fact.at.utc_ms, .what = what, .of = of, .words = words_of(fact), .by = fact.by};
}

// Its test says what it says.
bool is_of_a_test(const schema::BenchCheck& check) {
  return check.kind == "reference_unit" && !check.measured.empty();
}

struct Telling {
  Told operator()(const schema::Lots& fact) const { return told(fact, "lots", fact.subject); }
  Told operator()(const schema::ReturnIntake& fact) const {
    return told(fact, "return", fact.serial);
  }
  Told operator()(const schema::Repair& fact) const { return told(fact, "repair", fact.serial); }
  Told operator()(const schema::Disposition& fact) const {
    EntryTold decision = told(fact, "decision", fact.serial);
    decision.of_two_people = !fact.second_by.empty() || fact.decision == "scrap";
    return decision;
  }
  Told operator()(const schema::ImportedTest& fact) const {
    return told(fact, "imported test", fact.serial);
  }
  Told operator()(const schema::BenchCheck& fact) const {
    return is_of_a_test(fact) ? Told() : told(fact, "check", fact.bench);
  }
  Told operator()(const schema::BenchEvent& fact) const {
    return EntryTold{.utc_ms = fact.at.utc_ms,
                     .what = "bench event",
                     .of = fact.bench,
                     .words = fact.code + with(": ", fact.text)};
  }
  template <class Fact>
  Told operator()(const Fact&) const {
    return std::nullopt;
  }
};

}  // namespace

std::string spelled(std::string text) {
  const auto is_lower = [](char c) { return c >= 'a' && c <= 'z'; };
  for (std::size_t i = 1; i + 1 < text.size(); ++i)
    if (text[i] == '_' && is_lower(text[i - 1]) && is_lower(text[i + 1])) text[i] = ' ';
  return text;
}

std::optional<EntryTold> entry_told(const schema::Fact& fact) {
  return std::visit(Telling(), fact);
}

}  // namespace endgate::daemon
