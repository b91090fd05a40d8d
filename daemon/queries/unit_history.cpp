#include "daemon/queries/unit_history.h"

#include <algorithm>

namespace endgate::daemon {
namespace {

std::optional<StandingNow> standing_after(const schema::StoreReader& store,
                                          const std::string& serial,
                                          const std::vector<schema::StoredRecord>& tests) {
  const std::int64_t started = store.last_attempt(serial);
  const std::int64_t kept = tests.empty() ? 0 : tests.back().record.start.attempt;
  if (started > kept)
    return StandingNow{"hold", "Attempt " + std::to_string(started) +
                                   " was started and its result is not kept yet."};
  if (tests.empty()) return std::nullopt;
  if (store.last_repair_position(serial) > tests.back().position)
    return StandingNow{"hold", "Repaired since its last test. Test it again."};
  return StandingNow{tests.back().record.standing, tests.back().record.standing_reason};
}

}  // namespace

UnitHistory history_of(const schema::StoreReader& store, const std::string& serial) {
  UnitHistory history;
  history.serial = serial;
  history.tests = store.records_of(serial);
  const std::vector<schema::Repair> repairs = store.repairs_of(serial);
  const std::vector<schema::Position> positions = store.repair_positions_of(serial);
  for (std::size_t i = 0; i < std::min(repairs.size(), positions.size()); ++i)
    history.repairs.push_back({positions[i], repairs[i]});
  history.standing = standing_after(store, serial, history.tests);
  return history;
}

std::optional<StandingNow> standing_now(const schema::StoreReader& store,
                                        const std::string& serial) {
  return standing_after(store, serial, store.records_of(serial));
}

}  // namespace endgate::daemon
