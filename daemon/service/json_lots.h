// Where a lot of parts went, as JSON.

#pragma once

#include <string>

#include "daemon/queries/lot_told.h"

namespace endgate::daemon {

[[nodiscard]] std::string lot_json(const LotTold& told);

}  // namespace endgate::daemon
