// What happened to this unit so far, and may it ship now?

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "schema/store.h"

namespace endgate::daemon {

struct StandingNow {
  std::string word;    // release, hold, reject
  std::string reason;  // one sentence
};

struct UnitHistory {
  std::string serial;
  std::vector<schema::StoredRecord> tests;            // oldest first
  std::vector<schema::Kept<schema::Repair>> repairs;  // order among tests is the position
  std::vector<schema::Kept<schema::Disposition>> decisions;
  std::vector<schema::Kept<schema::ReturnIntake>> returns;
  std::vector<schema::Kept<schema::Lots>> lots;  // of the unit, then of the batch it was tested in
  std::vector<schema::Kept<schema::ImportedTest>> imported;
  std::vector<schema::StoreReader::Withdrawn> withdrawn;  // about the unit, then about its batch
  std::vector<schema::Kept<schema::TraceRemoved>> samples_removed;  // of its tests
  std::optional<StandingNow> standing;  // absent: nothing is known of this serial
};

[[nodiscard]] UnitHistory history_of(const schema::StoreReader& store, const std::string& serial);

// The standing kept with the newest test, unless something happened since: a decision of people, or
// a return, a repair or a start whose test is not kept yet, which hold the unit.  When an entry
// that test was judged after was withdrawn since, the standing is worked out anew without it,
// against the limits of that test.
[[nodiscard]] std::optional<StandingNow> standing_now(const schema::StoreReader& store,
                                                      const std::string& serial);

}  // namespace endgate::daemon
