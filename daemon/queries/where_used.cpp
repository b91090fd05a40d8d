#include "daemon/queries/where_used.h"

#include <algorithm>
#include <cstddef>
#include <limits>
#include <set>
#include <utility>

#include "analysis/standing.h"
#include "daemon/queries/lot_book.h"
#include "daemon/queries/repair_lots.h"
#include "daemon/queries/unit_history.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

// Whether the test of a unit that got a lot at this repair, or had it from the start, may be its
// first.
bool may_be_first_with(const schema::StoredRecord& test, schema::Position repair) {
  const std::string& purpose = test.record.start.purpose;
  if (test.position < repair || test.record.verdict == "void") return false;
  return repair > 0 ? analysis::counts_for_standing(purpose)
                    : purpose == "production" || purpose == "retest";
}

UnitWithLot::FirstTest first_test_told(
    const std::vector<schema::StoredRecord>::const_iterator& found) {
  const schema::Record& record = found->record;
  UnitWithLot::FirstTest first{.model = record.start.model, .verdict = record.verdict};
  if (!record.reasons.empty()) {
    first.reason_code = record.reasons.front().code;
    first.reason_subject = record.reasons.front().subject;
  }
  if (!record.causes.empty()) first.likely_cause = record.causes.front().name;
  return first;
}

// A returned unit is often tested without its batch.
std::string newest_batch(const std::vector<schema::StoredRecord>& tests,
                         const std::string& without) {
  for (std::size_t i = tests.size(); i-- > 0;)
    if (!tests[i].record.start.batch.empty()) return tests[i].record.start.batch;
  return without;
}

class Gathered {
 public:
  Gathered(const schema::StoreReader& store, LotBook& book, std::string lot)
      : store_(store), book_(book), lot_(std::move(lot)) {}

  void add(const std::string& serial, const std::string& part, const std::string& through,
           schema::Position repair = 0) {
    if (!seen_.insert({serial, part}).second) return;
    UnitWithLot unit{.serial = serial, .part = part, .through = through, .repair = repair};
    if (const auto standing = standing_now(store_, serial)) unit.standing = standing->word;
    const auto tests = store_.records_of(serial);
    if (!tests.empty()) unit.verdict = tests.back().record.verdict;
    const auto first = std::ranges::find_if(
        tests, [&](const schema::StoredRecord& test) { return may_be_first_with(test, repair); });
    if (first != tests.end() && held_at(unit, first->record.start.batch, first->position))
      unit.first = first_test_told(first);
    unit.still_held =
        held_at(unit, newest_batch(tests, through), std::numeric_limits<schema::Position>::max());
    unit.came_back = !store_.returns_of(serial).empty();
    units.push_back(std::move(unit));
  }

  std::vector<UnitWithLot> units;

 private:
  bool held_at(const UnitWithLot& unit, const std::string& batch, schema::Position position) {
    const LotBook::Lots& lots =
        book_.of({.position = position, .serial = unit.serial, .batch = batch});
    const auto held = lots.find(unit.part);
    return held != lots.end() && held->second == lot_;
  }

  const schema::StoreReader& store_;
  LotBook& book_;
  std::string lot_;
  std::set<std::pair<std::string, std::string>> seen_;
};

}  // namespace

namespace {

std::string each_letter(std::string text, char first, char last, int by) {
  for (char& c : text)
    if (c >= first && c <= last) c = static_cast<char>(c + by);
  return text;
}

using Repairs = std::vector<schema::Kept<schema::Repair>>;

std::vector<UnitWithLot> used_as_written(const schema::StoreReader& store, LotBook& book,
                                         const Repairs& repairs, const std::string& lot,
                                         const std::string& part_name) {
  Gathered gathered(store, book, lot);
  for (const auto& [position, lots] : store.lots_with(lot, part_name))
    for (const schema::PartLot& part : lots.parts) {
      if (part.lot != lot || (!part_name.empty() && part.part != part_name)) continue;
      if (lots.subject_kind == "unit") {
        gathered.add(lots.subject, part.part, "");
      } else {
        for (const std::string& serial : store.serials_of_batch(lots.subject))
          gathered.add(serial, part.part, lots.subject);
      }
    }
  for (const auto& [position, repair] : repairs)
    for (const schema::PartLot& part : lots_in(repair))
      if (part.lot == lot && (part_name.empty() || part.part == part_name))
        gathered.add(repair.serial, part.part, "", position);
  return std::move(gathered.units);
}

}  // namespace

std::vector<UnitWithLot> where_used(const schema::StoreReader& store, const std::string& lot,
                                    const std::string& part_name) {
  LotBook book(store);
  const Repairs repairs = schema::every_repair(store);
  constexpr int kToCapital = 'A' - 'a';
  for (const std::string& written :
       {lot, each_letter(lot, 'a', 'z', kToCapital), each_letter(lot, 'A', 'Z', -kToCapital)})
    if (auto units = used_as_written(store, book, repairs, written, part_name); !units.empty())
      return units;
  return {};
}

}  // namespace endgate::daemon
