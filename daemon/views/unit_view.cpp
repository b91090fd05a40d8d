#include "daemon/views/unit_view.h"

#include <algorithm>
#include <ranges>

#include "analysis/limit_subject.h"
#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/queries/against_birth.h"
#include "daemon/queries/budget_told.h"
#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/more_limits.h"
#include "daemon/queries/repair_lots.h"
#include "daemon/queries/unit_events.h"
#include "daemon/views/buyer_view.h"
#include "daemon/views/curves.h"
#include "daemon/views/lot_view.h"
#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

std::string address_of(const schema::TestStart& start) {
  return "/units/" + address_part(start.serial) + "/" + std::to_string(start.attempt);
}

std::string attempt_name(const schema::StoredRecord& test, const schema::StoredRecord* birth) {
  std::string name = "Attempt " + std::to_string(test.record.start.attempt);
  if (birth != nullptr && test.position == birth->position) return name + ", birth";
  return test.record.start.purpose == "production" ? name : name + ", " + test.record.start.purpose;
}

std::string named(const UnitEvent& event) {
  return analysis::capitalised(event.entry.what) + ": " + event.entry.words;
}

void add_withdrawable(reports::UnitPage& page, const UnitHistory& unit) {
  const std::vector<UnitEvent> events = events_of(unit);
  for (const UnitEvent& event : std::views::reverse(events))  // the newest is chosen unless told
    if (!event.withdrawal)
      page.withdrawable.push_back({std::to_string(event.position), named(event)});
}

std::vector<reports::LifeEvent> life_of(const UnitHistory& unit,
                                        const schema::StoredRecord& chosen) {
  struct Placed {
    schema::Position position;
    reports::LifeEvent event;
  };
  std::vector<Placed> placed{};
  const schema::StoredRecord* birth = birth_of(unit);
  for (const schema::StoredRecord& test : unit.tests)
    placed.push_back({test.position,
                      {.verdict = test.record.verdict,
                       .name = attempt_name(test, birth),
                       .when = date_and_minute(test.record.start.at.utc_ms) + ", bench " +
                               test.record.start.bench,
                       .href = address_of(test.record.start),
                       .chosen = test.position == chosen.position}});
  for (const UnitEvent& event : events_of(unit))
    if (event.entry.what != "lots" || event.withdrawal)
      placed.push_back({event.position,
                        {.name = named(event),
                         .when = date_and_minute(event.entry.utc_ms) + ", " + event.entry.by,
                         .no_test = true,
                         .withdrawn = analysis::capitalised(withdrawn_words(event))}});
  std::stable_sort(placed.begin(), placed.end(),
                   [](const Placed& a, const Placed& b) { return a.position < b.position; });
  std::vector<reports::LifeEvent> life{};
  for (Placed& one : placed) life.push_back(std::move(one.event));
  return life;
}

std::string about(const schema::TestStart& start) {
  std::string text = "Model " + start.model;
  if (!start.batch.empty()) text += " · batch " + start.batch;
  return text;
}

// A metric without a limit is shown like one with no bounds.
HeldLimit held_for(const schema::Record& record, const schema::MetricValue& metric) {
  for (const HeldLimit& limit : held_limits(record))
    if (limit.metric == metric.id) return limit;
  return {.metric = metric.id,
          .value = metric.value,
          .u = metric.u,
          .missing_reason = metric.missing_reason};
}

reports::MetricRow metric_row(const schema::Record& record, const schema::MetricValue& metric) {
  const HeldLimit held = held_for(record, metric);
  std::string value = written_value(held).text("");
  if (!metric.value && !metric.missing_reason.empty()) value += " " + metric.missing_reason;
  if (metric.extrapolated) value += ", extrapolated";
  const bool limited = held.lower || held.upper;
  return {.name = metric_name_brief(metric.id),
          .unit = metric_unit(metric.id),
          .birth = "",
          .value = value,
          .limit = limited ? limit_words(held) + (held.warn ? ", warning only" : "") : "",
          .outcome = limited ? held.outcome : "",
          .ruler = limited ? draw(ruler_of(held, 110)) : reports::Node("span"),
          .missing = !metric.value};
}

// A limit on the curve or on a relation, which is no metric of the record.
reports::MetricRow subject_row(const HeldLimit& held) {
  return {.name = limit_name(held),
          .unit = metric_unit(held.metric),
          .birth = "",
          .value = written_value(held).text(""),
          .limit = limit_words(held) + (held.warn ? ", warning only" : ""),
          .outcome = held.outcome,
          .ruler = draw(ruler_of(held, 110)),
          .missing = !held.value};
}

std::string birth_value(const schema::Record& birth, const std::string& id) {
  for (const schema::MetricValue& metric : birth.metrics)
    if (metric.id == id) return written_value(held_for(birth, metric)).text("");
  return reports::kMissing;
}

void add_metrics(reports::UnitPage& page, const schema::Record& record,
                 const schema::Record* birth) {
  page.has_birth = birth != nullptr;
  for (const schema::MetricValue& metric : record.metrics) {
    page.metrics.push_back(metric_row(record, metric));
    if (birth != nullptr) page.metrics.back().birth = birth_value(*birth, metric.id);
  }
  for (const HeldLimit& held : held_limits(record))
    if (!analysis::is_one_metric(held.metric)) {
      page.metrics.push_back(subject_row(held));
      if (birth != nullptr) page.metrics.back().birth = reports::kMissing;
    }
}

void add_curve(reports::UnitPage& page, const UnitHistory& unit,
               const schema::StoredRecord& chosen) {
  reports::CurveChart chart = curve_chart_of(chosen.record);
  const schema::StoredRecord* birth = birth_of(unit);
  for (const schema::StoredRecord& test : unit.tests) {
    if (test.position == chosen.position || test.record.drawn.empty()) continue;
    const bool is_birth = birth != nullptr && test.position == birth->position;
    chart.others.push_back(
        {is_birth ? "birth" : "attempt " + std::to_string(test.record.start.attempt), is_birth,
         curve_chart_of(test.record).curve});
  }
  chart.width = 480;
  chart.height = 380;
  page.sentence =
      chosen.record.verdict == "fail" ? deciding_words(chosen.record.reasons) : chart.description;
  if (chart.curve.empty() && !chosen.record.curve_refusal.empty())
    page.sentence = "No curve: " + chosen.record.curve_refusal;
  page.curve = draw(chart);
  page.curve_table = table_of(chart);
}

// A trial stands in the record as "trial half-hour-duty@1".
std::pair<const char*, std::string> reason_of(const schema::TestStart& start) {
  constexpr std::string_view kTrial = "trial ";
  if (!start.reason.starts_with(kTrial)) return {"Reason of the retest", start.reason};
  const std::string trial = start.reason.substr(kTrial.size());
  const std::size_t at = trial.rfind('@');
  if (at == std::string::npos) return {"Trial", trial};
  return {"Trial", trial.substr(0, at) + ", version " + trial.substr(at + 1)};
}

void add_facts(reports::UnitPage& page, const schema::StoredRecord& chosen) {
  const schema::Record& record = chosen.record;
  const auto add = [&](const char* name, const std::string& value) {
    if (!value.empty()) page.facts.push_back({name, value});
  };
  add("Record", reports::fixed(static_cast<double>(chosen.position), 0));
  add("Tested", date_and_minute(record.start.at.utc_ms));
  add("Bench", record.start.bench + (record.simulated ? ", simulated" : ""));
  add("Bench time", record.cycle_s ? reports::fixed(*record.cycle_s, 1) + reports::kNoBreak + "s"
                                   : std::string());
  add("Purpose", record.start.purpose);
  const auto [reason_name, reason] = reason_of(record.start);
  add(reason_name, reason);
  add("Operator (claimed)", record.start.operator_name);
  add("Software", record.software);
  for (const std::string& id : record.context_ids) add("Rests on", id);
  for (const schema::HealthAsFound& health : record.health)
    if (health.state != "good")
      add("Channel", health.channel + ": " + health.state + ", " + health.detail);
}

void add_causes(reports::UnitPage& page, const schema::Record& record) {
  for (const schema::CauseStated& cause : record.causes)
    page.causes.push_back({.name = cause.name,
                           .probability = analysis::say_probability(cause.probability),
                           .evidence = cause.evidence,
                           .told_apart_by = cause.told_apart_by});
}

std::string u_words(double u_si, const std::string& metric) {
  const double u = shown_size(metric, u_si);
  return analysis::say_number(u, analysis::places_for(u, 3)) + reports::kNoBreak +
         metric_unit(metric);
}

void add_budgets(reports::UnitPage& page, const schema::Record& record) {
  for (const Budget& budget : budgets_of(record)) {
    reports::BudgetTable& table = page.budgets.emplace_back();
    table.name = metric_name_short(budget.metric);
    table.u = u_words(budget.u, budget.metric);
    for (const BudgetLine& line : budget.lines)
      table.rows.push_back({analysis::capitalised(line.cause), u_words(line.u, budget.metric),
                            analysis::say_probability(line.share)});
  }
}

// Of the unit, of its batch and of its repairs, each leading to the other units that hold it.
void add_lots(reports::UnitPage& page, const UnitHistory& unit) {
  for (const auto& [position, lots] : unit.lots)
    for (const schema::PartLot& part : lots.parts)
      page.facts.push_back(
          {"Lot of " + spelled(part.part),
           part.lot + (lots.subject_kind == "batch" ? " (batch " + lots.subject + ")" : ""),
           address_of_lot(part.lot, part.part)});
  for (const auto& [position, repair] : unit.repairs)
    for (const schema::PartLot& part : lots_in(repair))
      page.facts.push_back({"Lot of " + spelled(part.part), part.lot + " (built in at a repair)",
                            address_of_lot(part.lot, part.part)});
}

}  // namespace

const schema::StoredRecord* chosen_test(const UnitHistory& unit,
                                        std::optional<std::int64_t> attempt) {
  if (!attempt) return &unit.tests.back();
  for (const schema::StoredRecord& test : unit.tests)
    if (test.record.start.attempt == *attempt) return &test;
  return nullptr;
}

reports::UnitPage unit_page_of(const UnitHistory& unit, const schema::StoredRecord& chosen,
                               const TraceShown& trace) {
  const schema::Record& record = chosen.record;
  reports::UnitPage page{.serial = unit.serial, .about = about(unit.tests.back().record.start)};
  page.verdict = unit.tests.back().record.verdict;
  page.standing = unit.standing ? unit.standing->word : "hold";
  page.standing_reason = unit.standing ? unit.standing->reason : "";
  page.life = life_of(unit, chosen);
  page.chosen_name = "Attempt " + std::to_string(record.start.attempt);
  add_curve(page, unit, chosen);
  const schema::StoredRecord* birth = birth_of(unit);
  const bool other = birth != nullptr && birth->position != chosen.position;
  add_metrics(page, record, other ? &birth->record : nullptr);
  for (const schema::ReasonGiven& reason : record.reasons) page.reasons.push_back(reason.sentence);
  if (!record.would_have_been.empty())
    page.reasons.push_back("What was completed " + record.would_have_been + ".");
  add_causes(page, record);
  add_budgets(page, record);
  page.buyer = fill_times_of(record);
  add_facts(page, chosen);
  add_lots(page, unit);
  add_trace(page, chosen, trace);
  add_withdrawable(page, unit);
  const std::string serial = address_part(record.start.serial);
  page.questions = {
      {"Beside another unit", "/compare?units=" + serial},
      {"As it runs: how a metric moves and meets its limit", "/endurance?unit=" + serial}};
  for (const ListedCause& cause : causes_listed(record))
    page.findings.push_back({cause.id, cause.name});
  return page;
}

}  // namespace endgate::daemon
