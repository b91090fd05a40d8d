// Which facts about the bench itself follow from a test that was kept?
//
// A test of a reference unit becomes a check of its bench; one out of control, or a channel that
// was silent in three tests running, opens an alarm.  An alarm of one trouble is open at most once.
//
// Threading: on the record thread, after the answer.  Throws StoreFault.

#pragma once

#include <filesystem>
#include <optional>
#include <set>
#include <string>

#include "daemon/definitions/bench_definition.h"
#include "schema/store.h"

namespace endgate::daemon {

inline constexpr std::size_t kSilentRunning = 3;

// Returned: the check that the test of a reference unit made.
std::optional<schema::BenchCheck> keep_upkeep_of(schema::StoreWriter& writer,
                                                 const std::filesystem::path& store_folder,
                                                 schema::Position record,
                                                 const BenchDefinition& bench);

// Does nothing while an alarm of the same bench, code and (where it says which part) text is open.
void open_alarm(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                const std::string& bench, const std::string& code, const std::string& text);

// What was put right at the bench itself, and how that is known.
struct ClosedAtBench {
  std::string code;    // kAlarmMotor, kAlarmPressure
  std::string by;      // a person, or "endgate" for what it saw itself
  std::string action;  // "motor off was read back"
};
// The alarms of that code and bench that are open.
void close_alarm(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                 const std::string& bench, const ClosedAtBench& closed);
// Benches of which an alarm of that code is open.
[[nodiscard]] std::set<std::string> benches_with(const schema::StoreReader& reader,
                                                 const std::string& code);

// The reference unit of this bench that has the serial; nullptr when it is none.
[[nodiscard]] const ReferenceUnitDefinition* reference_unit_of(const BenchDefinition& bench,
                                                               const std::string& serial);

}  // namespace endgate::daemon
