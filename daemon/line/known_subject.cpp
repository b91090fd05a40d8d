#include "daemon/line/known_subject.h"

#include <algorithm>
#include <map>
#include <vector>

#include "daemon/definitions/load.h"
#include "daemon/line/say_time.h"

namespace endgate::daemon {
namespace {

std::string counted(std::size_t n, const std::string& what) {
  return std::to_string(n) + " " + what + (n == 1 ? "" : "s");
}

std::string known_of_batch(const schema::StoreReader& store, const std::string& batch) {
  const std::size_t units = store.serials_of_batch(batch).size();
  if (units == 0) return " No unit of it is tested yet: check that the number is right.";
  return " " + counted(units, "unit") + " of it " + (units == 1 ? "is" : "are") + " tested.";
}

std::string new_parts(const schema::StoreReader& store, const schema::Lots& lots) {
  const std::vector<std::string> names = store.part_names();
  if (names.empty()) return "";
  std::string known, said;
  for (const std::string& name : names) known += (known.empty() ? "" : ", ") + name;
  for (const schema::PartLot& part : lots.parts)
    if (!std::ranges::binary_search(names, part.part))
      said += " No part was called " + part.part + " before; there are " + known + ".";
  return said;
}

std::string contradictions(const schema::StoreReader& store, const schema::Lots& lots) {
  std::string said;
  const auto earlier = store.lots_of(lots.subject_kind, lots.subject);
  for (const schema::PartLot& part : lots.parts)
    for (const auto& [position, fact] : earlier)
      for (const schema::PartLot& before : fact.parts)
        if (before.part == part.part && before.lot != part.lot)
          said += " Position " + std::to_string(position) + " says " + before.part + " " +
                  before.lot + "; both stay, trends take the newest.";
  return said;
}

std::vector<ModelDefinition> accepted_models(const schema::StoreReader& store) {
  std::map<std::string, std::string> texts;  // by model, the newest
  for (const schema::Definition& each : store.definitions())
    if (each.kind == "model") texts[each.subject] = each.text;
  std::vector<ModelDefinition> models;
  for (const auto& [model, text] : texts) {
    auto loaded = load_model(text, model);
    if (auto* good = std::get_if<ModelDefinition>(&loaded)) models.push_back(std::move(*good));
  }
  return models;
}

bool is_known(const schema::StoreReader& store, const std::string& serial) {
  return store.last_attempt(serial) > 0 || !store.imported_of(serial).empty() ||
         !store.returns_of(serial).empty() || !store.repairs_of(serial).empty() ||
         !store.lots_of("unit", serial).empty();
}

std::string upper(std::string text) {
  for (char& c : text) c = c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c;
  return text;
}

}  // namespace

std::variant<std::string, SerialRefusal> SerialsKept::as_kept(const std::string& typed) {
  if (is_known(store_, typed)) return typed;
  if (!models_) models_ = accepted_models(store_);
  if (models_->empty()) return typed;
  auto match = match_serial(typed, *models_);
  if (auto* refusal = std::get_if<SerialRefusal>(&match)) return std::move(*refusal);
  return std::get<SerialMatch>(match).serial;
}

std::variant<std::string, SerialRefusal> serial_to_keep(const schema::StoreReader& store,
                                                        const std::string& typed) {
  return SerialsKept(store).as_kept(typed);
}

std::string meant_by(const schema::StoreReader& store, const std::string& number) {
  if (!store.lots_with(number).empty())
    return " It is a lot: `endgate where " + number + "` tells its units.";
  if (!store.serials_of_batch(number).empty()) return " It is a batch, not a unit.";
  std::string serial = upper(number);
  if (!is_known(store, serial) && serial.size() > 1)
    if (const auto check = check_character(serial.substr(0, serial.size() - 1)))
      serial.back() = *check;
  return is_known(store, serial) && serial != number ? " Did you mean " + serial + "?" : "";
}

std::string known_of_unit(const schema::StoreReader& store, const std::string& serial) {
  const auto tests = store.records_of(serial);
  if (tests.empty()) return " No test of it is kept yet: check that the number is right.";
  return " " + counted(tests.size(), "test") + " of it " + (tests.size() == 1 ? "is" : "are") +
         " kept, the newest of " + say_utc_minute(tests.back().record.start.at.utc_ms) + " UTC.";
}

std::string known_of(const schema::StoreReader& store, const schema::Lots& lots) {
  const std::string subject = lots.subject_kind == "unit" ? known_of_unit(store, lots.subject)
                                                          : known_of_batch(store, lots.subject);
  return subject + new_parts(store, lots) + contradictions(store, lots);
}

std::string mistaken_subject(const schema::StoreReader& store, const schema::Lots& lots) {
  // Asking for a batch reads the index of every test: only where the serial alone says too little.
  const bool is_unit = lots.subject_kind == "unit";
  const bool tested = !store.records_of(lots.subject).empty();
  if (tested == is_unit) return "";
  const bool is_batch = !store.serials_of_batch(lots.subject).empty();
  if (is_unit && is_batch)
    return lots.subject + " is a batch here, not a unit. Say that it is one (--of batch).";
  if (!is_unit && !is_batch)
    return lots.subject + " is a unit here, not a batch. Say that it is one (--of unit).";
  return "";
}

}  // namespace endgate::daemon
