// What did a person enter, in one line?

#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "schema/seal.h"

namespace endgate::daemon {

struct EntryTold {
  std::int64_t utc_ms = 0;  // when it was entered
  std::string what{};       // lots, return, repair, decision, imported test, check, bench event
  std::string of{};         // serial, batch or bench
  std::string words{};      // without who
  std::string by{};
  bool of_two_people = false;  // it was not for one person alone to say, so not to take back either
};

// As people read it: "ring_wear" -> "ring wear", "piston_ring P-2613" -> "piston ring P-2613".  Lots
// and serials stay what they are.
[[nodiscard]] std::string spelled(std::string text);

// Nothing: no entry of a person but a test, a definition, an alarm ...
[[nodiscard]] std::optional<EntryTold> entry_told(const schema::Fact& fact);

}  // namespace endgate::daemon
