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

void keep_upkeep_of(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                    schema::Position record, const BenchDefinition& bench);

// Does nothing while an alarm of the same bench, code and (where it says which part) text is open.
void open_alarm(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                const std::string& bench, const std::string& code, const std::string& text);

// The alarm that the motor of this bench did not obey, if one is open.
void close_motor_alarm(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                       const std::string& bench, const std::string& by);
// Benches of which one is open.
[[nodiscard]] std::set<std::string> motor_alarms(const schema::StoreReader& reader);

// The reference unit of this bench that has the serial; nullptr when it is none.
[[nodiscard]] const ReferenceUnitDefinition* reference_unit_of(const BenchDefinition& bench,
                                                               const std::string& serial);

}  // namespace endgate::daemon
