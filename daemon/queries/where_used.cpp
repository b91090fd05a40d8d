#include "daemon/queries/where_used.h"

#include <set>

#include "daemon/queries/unit_history.h"

namespace endgate::daemon {
namespace {

class Gathered {
 public:
  explicit Gathered(const schema::StoreReader& store) : store_(store) {}

  void add(const std::string& serial, const std::string& part, const std::string& through) {
    if (!seen_.insert({serial, part}).second) return;
    UnitWithLot unit{.serial = serial, .part = part, .through = through};
    if (const auto standing = standing_now(store_, serial)) unit.standing = standing->word;
    const auto tests = store_.records_of(serial);
    if (!tests.empty()) unit.verdict = tests.back().record.verdict;
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
