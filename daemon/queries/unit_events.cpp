#include "daemon/queries/unit_events.h"

#include <algorithm>
#include <cctype>

#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/csv.h"
#include "daemon/queries/repair_lots.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

template <class Facts>
void add(std::vector<UnitEvent>& events, const Facts& kept) {
  for (const auto& [position, fact] : kept)
    if (auto told = entry_told(fact)) events.push_back({position, std::move(*told), {}});
}

void add(std::vector<UnitEvent>& events, const std::vector<schema::StoreReader::Withdrawn>& gone) {
  for (const auto& [position, bytes, withdrawal] : gone)
    if (auto told = entry_told(schema::decode_fact(bytes)))
      events.push_back({position, std::move(*told), withdrawal});
}

// A finding of the list of causes stands by the name that the list gives it.
std::vector<schema::Kept<schema::Repair>> named_repairs(const UnitHistory& unit) {
  std::vector<schema::Kept<schema::Repair>> repairs = unit.repairs;
  if (repairs.empty() || unit.tests.empty()) return repairs;
  const std::vector<ListedCause> list = causes_listed(unit.tests.back().record);
  for (schema::Kept<schema::Repair>& repair : repairs)
    if (const ListedCause* cause = listed_as(list, repair.fact.finding))
      repair.fact.finding = cause->name;
  return repairs;
}

// Not among entry_told(): a removal cannot be withdrawn.
EntryTold samples_removed(const UnitHistory& unit, const schema::TraceRemoved& removed) {
  std::string attempt = "?";
  for (const schema::StoredRecord& test : unit.tests)
    if (test.position == removed.record) attempt = std::to_string(test.record.start.attempt);
  return {.utc_ms = removed.at.utc_ms,
          .what = "samples removed",
          .of = unit.serial,
          .words = "of attempt " + attempt + ": " + removed.policy,
          .by = removed.by};
}

}  // namespace

std::vector<UnitEvent> events_of(const std::vector<schema::StoreReader::Withdrawn>& gone) {
  std::vector<UnitEvent> events;
  add(events, gone);
  return events;
}

std::vector<UnitEvent> events_of(const UnitHistory& unit) {
  std::vector<UnitEvent> events;
  add(events, unit.lots);
  add(events, unit.returns);
  add(events, named_repairs(unit));
  add(events, unit.decisions);
  add(events, unit.imported);
  add(events, unit.withdrawn);
  for (const auto& removed : unit.samples_removed)
    events.push_back({removed.position, samples_removed(unit, removed.fact), {}});
  std::ranges::sort(events, {}, &UnitEvent::position);
  return events;
}

std::string withdrawn_words(const UnitEvent& event) {
  if (!event.withdrawal) return "";
  const schema::Withdrawal& fact = event.withdrawal->fact;
  return "withdrawn on " + csv_utc(fact.at.utc_ms).substr(0, 10) + " by " + fact.by +
         (fact.second_by.empty() ? "" : " and " + fact.second_by) + ": " + fact.why;
}

std::string serial_known_as(const schema::StoreReader& store, const std::string& number) {
  if (store.last_attempt(number) > 0) return number;
  std::string found = number;
  std::ranges::transform(found, found.begin(),
                         [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  if (store.last_attempt(found) > 0) return found;
  found = number;
  schema::Position newest = 0;
  for (const auto& [position, lots] : store.lots_with(number))
    if (lots.subject_kind == "unit") found = lots.subject, newest = position;
  for (const auto& [position, repair] : schema::every_repair(store))
    for (const schema::PartLot& part : lots_in(repair))
      if (part.lot == number && position > newest) found = repair.serial, newest = position;
  return found;
}

}  // namespace endgate::daemon
