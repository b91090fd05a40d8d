// Which unit is meant by a scanned text, and by what would it be tested?

#pragma once

#include <memory>
#include <optional>
#include <string>
#include <variant>

#include "daemon/line/application.h"
#include "daemon/line/configuration.h"
#include "daemon/line/station_unit.h"

namespace endgate::daemon {

// Without its history and what is due on the bench, which stand in the store.
[[nodiscard]] std::variant<std::shared_ptr<UnitOnBench>, CommandRefusal> scanned_unit(
    const ScanCommand& command, const Configuration& configuration);

// Once its history is known: what it would be tested for.
void take_purpose(UnitOnBench& unit, const Configuration& configuration);

}  // namespace endgate::daemon
