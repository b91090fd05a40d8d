// From where does each channel of this bench come, and where does each command go?  For `endgate
// check`: whoever wired a bench compares these sentences with the cabinet.

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/bench_definition.h"

namespace endgate::daemon {

// "flow: io (modbus_tcp 127.0.0.1:15020), function 4, register 4, u16; every 0.016 s"
[[nodiscard]] std::vector<std::string> origins_of(const BenchDefinition& bench);

// "motor_relay: io (...), register 102"
[[nodiscard]] std::vector<std::string> targets_of(const BenchDefinition& bench);

}  // namespace endgate::daemon
