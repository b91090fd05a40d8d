#include "daemon/queries/where_used.h"

#include <algorithm>
#include <set>

#include "analysis/standing.h"
#include "daemon/queries/repair_lots.h"
#include "daemon/queries/unit_history.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

UnitWithLot::FirstTest first_of(const std::vector<schema::StoredRecord>& tests,
                                schema::Position behind) {
  const auto found = std::ranges::find_if(tests, [&](const schema::StoredRecord& test) {
    return test.position > behind && test.record.verdict != "void" &&
           analysis::counts_for_standing(test.record.start.purpose);
  });
  if (found == tests.end()) return {};
  const schema::Record& record = found->record;
  UnitWithLot::FirstTest first{.model = record.start.model, .verdict = record.verdict};
  if (!record.reasons.empty()) {
    first.reason_code = record.reasons.front().code;
    first.reason_subject = record.reasons.front().subject;
  }
  if (!record.causes.empty()) first.likely_cause = record.causes.front().name;
  return first;
}

class Gathered {
 public:
  explicit Gathered(const schema::StoreReader& store) : store_(store) {}

  void add(const std::string& serial, const std::string& part, const std::string& through,
           schema::Position repair = 0) {
    if (!seen_.insert({serial, part}).second) return;
    UnitWithLot unit{.serial = serial, .part = part, .through = through, .repair = repair};
    if (const auto standing = standing_now(store_, serial)) unit.standing = standing->word;
    const auto tests = store_.records_of(serial);
    if (!tests.empty()) unit.verdict = tests.back().record.verdict;
    unit.first = first_of(tests, repair);
    unit.came_back = !store_.returns_of(serial).empty();
    units.push_back(std::move(unit));
  }

  std::vector<UnitWithLot> units;

 private:
  const schema::StoreReader& store_;
  std::set<std::pair<std::string, std::string>> seen_;
};

}  // namespace

namespace {

std::string each_letter(std::string text, char first, char last, int by) {
  for (char& c : text)
    if (c >= first && c <= last) c = static_cast<char>(c + by);
  return text;
}

std::vector<UnitWithLot> used_as_written(const schema::StoreReader& store, const std::string& lot,
                                         const std::string& part_name) {
  Gathered gathered(store);
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
  for (const auto& [position, repair] : schema::every_repair(store))
    for (const schema::PartLot& part : lots_in(repair))
      if (part.lot == lot && (part_name.empty() || part.part == part_name))
        gathered.add(repair.serial, part.part, "", position);
  return std::move(gathered.units);
}

}  // namespace

std::vector<UnitWithLot> where_used(const schema::StoreReader& store, const std::string& lot,
                                    const std::string& part_name) {
  constexpr int kToCapital = 'A' - 'a';
  for (const std::string& written :
       {lot, each_letter(lot, 'a', 'z', kToCapital), each_letter(lot, 'A', 'Z', -kToCapital)})
    if (auto units = used_as_written(store, written, part_name); !units.empty()) return units;
  return {};
}

}  // namespace endgate::daemon
