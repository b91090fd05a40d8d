#include "daemon/views/tests_known.h"

#include <algorithm>

#include "daemon/queries/known_lot.h"

namespace endgate::daemon {
namespace {

void sort_once(std::vector<std::string>& names) {
  std::ranges::sort(names);
  const auto again = std::ranges::unique(names);
  names.erase(again.begin(), again.end());
}

}  // namespace

TestsKnown known_in(const schema::StoreReader& store,
                    std::span<const schema::StoredRecord> newest) {
  TestsKnown known;
  for (const schema::Definition& definition : store.definitions()) {
    if (definition.kind == "model") known.models.push_back(definition.subject);
    if (definition.kind == "bench") known.benches.push_back(definition.subject);
  }
  for (const schema::StoredRecord& stored : newest) {
    known.models.push_back(stored.record.start.model);
    known.benches.push_back(stored.record.start.bench);
  }
  sort_once(known.models);
  sort_once(known.benches);
  return known;
}

TestsKnown known_in(const schema::StoreReader& store) {
  return known_in(store, store.latest_records(kNewestLookedAt));
}

std::optional<WrongQuestion> wrong_with(const schema::StoreReader& store, const TestsAsked& asked,
                                        const TestsKnown& known) {
  if (auto wrong = wrong_with(asked, known)) return wrong;
  if (asked.lot.empty() || is_known_lot(store, asked.lot)) return std::nullopt;
  return WrongQuestion{404, "No unit is known to hold the lot " + asked.lot +
                                ". A lot is asked for as it was entered, capitals too."};
}

}  // namespace endgate::daemon
