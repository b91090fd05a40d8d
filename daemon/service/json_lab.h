// Units side by side and one unit as it runs, as JSON; SI numbers with the unit in the key.

#pragma once

#include <string>

#include "daemon/queries/endurance_told.h"
#include "daemon/queries/side_by_side.h"

namespace endgate::daemon {

[[nodiscard]] std::string side_by_side_json(const SideBySide& told);
[[nodiscard]] std::string endurance_json(const EnduranceTold& told);

}  // namespace endgate::daemon
