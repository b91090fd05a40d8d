// What happened to a unit besides its tests, each in one line.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "daemon/queries/unit_history.h"

namespace endgate::daemon {

struct UnitEvent {
  schema::Position position = 0;
  std::int64_t utc_ms = 0;  // when it was entered
  std::string what{};       // lots, return, repair, decision, imported test
  std::string words{};      // without who
  std::string by{};
};
// In order of position.
[[nodiscard]] std::vector<UnitEvent> events_of(const UnitHistory& unit);

// The serial itself, or that of the one unit that holds a part of this number; several: the newest.
[[nodiscard]] std::string serial_known_as(const schema::StoreReader& store,
                                          const std::string& number);

}  // namespace endgate::daemon
