#include "daemon/queries/lot_book.h"

#include <algorithm>
#include <utility>

#include "daemon/queries/repair_lots.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

std::set<std::string, std::less<>> as_set(const std::vector<std::string>& names) {
  return {names.begin(), names.end()};
}

}  // namespace

LotBook::LotBook(const schema::StoreReader& store)
    : store_(store), units_(as_set(store.subjects_with_lots("unit"))) {
  for (const auto& [position, repair] : schema::every_repair(store))
    if (auto lots = lots_in(repair); !lots.empty())
      repaired_[repair.serial].push_back({position, std::move(lots)});
}

// Oldest first; a repair counts for the tests after it.
std::vector<LotBook::BuiltIn> LotBook::built_into(const schema::TrendTest& test) const {
  std::vector<BuiltIn> built_in;
  if (units_.contains(test.serial))
    for (const auto& [position, lots] : store_.lots_of("unit", std::string(test.serial)))
      built_in.push_back({position, lots.parts});
  if (const auto repaired = repaired_.find(test.serial); repaired != repaired_.end())
    for (const BuiltIn& repair : repaired->second)
      if (repair.position < test.position) built_in.push_back(repair);
  std::ranges::sort(built_in, {}, &BuiltIn::position);
  return built_in;
}

const LotBook::Lots& LotBook::of(const schema::TrendTest& test) {
  const Lots& batch = of_batch(test.batch);
  const std::vector<BuiltIn> built_in = built_into(test);
  if (built_in.empty()) return batch;
  unit_ = batch;
  for (const BuiltIn& each : built_in)
    for (const schema::PartLot& part : each.parts) unit_[part.part] = part.lot;
  return unit_;
}

bool LotBook::holds(const schema::TrendTest& test, const std::string& lot) {
  return std::ranges::any_of(of(test), [&](const auto& held) {
    return held.second == lot || held.first + "=" + held.second == lot;
  });
}

const LotBook::Lots& LotBook::of_batch(std::string_view batch) {
  const auto known = batches_.find(batch);
  if (known != batches_.end()) return known->second;
  Lots& lots = batches_[std::string(batch)];
  if (batch.empty()) return lots;
  for (const auto& kept : store_.lots_of("batch", std::string(batch)))
    for (const schema::PartLot& part : kept.fact.parts) lots[part.part] = part.lot;
  return lots;
}

}  // namespace endgate::daemon
