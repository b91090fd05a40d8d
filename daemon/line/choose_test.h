// What is a scanned unit to be tested by and for, or why not?
//
// Pure but for the configuration it is given: nothing is read from the store or said to the bench.

#pragma once

#include <optional>
#include <string>

#include "daemon/line/application.h"
#include "daemon/line/configuration.h"
#include "daemon/line/station_unit.h"

namespace endgate::daemon {

// Why another test of it asks for a reason, and those a person may choose from.
struct ReasonAsked {
  std::string code;  // of retest_refused()
  std::string sentence;
  std::vector<RetestReason> offered;
};
// Nothing: it may be tested as it stands.
[[nodiscard]] std::optional<ReasonAsked> reason_asked_for(const UnitOnBench& unit);

// Writes what `command` asks for into `unit`: a lab trial, or the reason for another test.  After a
// refusal `unit` is spoilt: give it a copy.
[[nodiscard]] std::optional<CommandRefusal> choose_test(UnitOnBench& unit, const std::string& bench,
                                                        const StartCommand& command,
                                                        const Configuration& configuration);

// A sentence, when what was accepted since the scan would test the unit by something else.
[[nodiscard]] std::optional<std::string> changed_since_scan(const UnitOnBench& unit,
                                                            const std::string& bench,
                                                            const Configuration& configuration);

}  // namespace endgate::daemon
