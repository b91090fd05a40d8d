// What happened to a unit besides its tests, each in one line.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/queries/entry_told.h"
#include "daemon/queries/unit_history.h"

namespace endgate::daemon {

struct UnitEvent {
  schema::Position position = 0;
  EntryTold entry{};
  std::optional<schema::Kept<schema::Withdrawal>> withdrawal{};  // it counts no more
};
[[nodiscard]] std::vector<UnitEvent> events_of(
    const std::vector<schema::StoreReader::Withdrawn>& gone);
// In order of position, those withdrawn too.
[[nodiscard]] std::vector<UnitEvent> events_of(const UnitHistory& unit);

// "withdrawn on 2026-11-25 by B. Okoro: another unit"; empty: it stands.
[[nodiscard]] std::string withdrawn_words(const UnitEvent& event);

// The serial itself, in upper case when only that was tested, or that of the one unit that holds a
// part of this number; several: the newest.
[[nodiscard]] std::string serial_known_as(const schema::StoreReader& store,
                                          const std::string& number);

}  // namespace endgate::daemon
